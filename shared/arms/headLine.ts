import { add3, cross3, scale3, unit3, type Vec3 } from '../geometry/vec.ts'

/**
 * Readings of the shaft are of the line from butt to the middle of the head, which lies off the shaft's own line. It turns
 * with the club: tangents of its angles to the shaft toward the lead wrist's side, and toward shaft x side.
 */
export type HeadLine = readonly [towardSide: number, square: number]

/** @param side unit vector square to the shaft @returns the unit vector from butt to the middle of the head */
export const headLineIn = (shaft: Vec3, side: Vec3, line: HeadLine | undefined): Vec3 =>
  line ? unit3(add3(shaft, add3(scale3(side, line[0]), scale3(cross3(shaft, side), line[1]))))! : shaft

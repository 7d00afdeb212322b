import type { SweepRow, TurnBack } from './types.ts'

/** Smaller waves than this are not told of, degrees. */
const least = 0.5

/**
 * Where the shaft turns back as the elbow goes on along its arc, among the reachable places: on both sides of one a single azimuth
 * has two elbow places.
 * @param rows by swivel, ascending @param radiusM of the elbow's arc @param nowDeg where the elbow is now
 */
export function turnsBack(rows: readonly SweepRow[], radiusM: number, nowDeg: number): TurnBack[] {
  const way: { swivelDeg: number; elbowOutCm: number; azimuth: number }[] = []
  for (const { reachable, swivelDeg, elbowOutCm, azimuthDeg } of rows) {
    if (!reachable) continue
    const before = way.at(-1)?.azimuth ?? azimuthDeg
    way.push({ swivelDeg, elbowOutCm, azimuth: azimuthDeg - 360 * Math.round((azimuthDeg - before) / 360) })
  }
  const out: TurnBack[] = []
  const first = way[0]
  if (!first) return out
  // The farthest the shaft has come since it last turned, and the way that it goes: 1 across, -1 back, 0 not yet known.
  let best = first
  let lowest = first
  let going: 1 | -1 | 0 = 0
  for (const here of way) {
    if (going === 0) {
      if (here.azimuth > best.azimuth) best = here
      if (here.azimuth < lowest.azimuth) lowest = here
      if (here.azimuth - lowest.azimuth >= least) [going, best] = [1, here]
      else if (best.azimuth - here.azimuth >= least) [going, best] = [-1, here]
    } else if ((here.azimuth - best.azimuth) * going >= 0) best = here
    else if ((best.azimuth - here.azimuth) * going >= least) {
      out.push(turnOf(best, going, radiusM, nowDeg))
      going = going === 1 ? -1 : 1
      best = here
    }
  }
  return out
}

function turnOf({ swivelDeg, elbowOutCm, azimuth }: { swivelDeg: number; elbowOutCm: number; azimuth: number }, going: 1 | -1, radiusM: number, nowDeg: number): TurnBack {
  const cm = (100 * radiusM * (swivelDeg - nowDeg) * Math.PI) / 180
  const where = Math.abs(cm) < 0.1 ? 'Where the elbow is now' : `With the elbow ${Math.abs(cm).toFixed(1)} cm farther ${cm > 0 ? 'out' : 'in'} on its arc than now`
  const azimuthDeg = azimuth - 360 * Math.round(azimuth / 360)
  const stands = `${Math.abs(azimuthDeg).toFixed(1)} degrees ${azimuthDeg >= 0 ? 'across' : 'laid off'}`
  return {
    swivelDeg, elbowOutCm, azimuthDeg,
    words: `${where} the shaft turns back: it is ${stands} there, and ${going > 0 ? 'less' : 'farther'} across with the elbow to either side. One azimuth then has two elbow places.`,
  }
}

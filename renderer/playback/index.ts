/**
 * Frame-exact playback of one or two clips, outside React.
 *
 *     const player = createPlayer({ left: { canvas: leftCanvas }, right: { canvas: rightCanvas } })   // sizes from CSS
 *     await player.left.open({ url, frames, captureRate, playRate, width, height, original })         // a clip's own record fits
 *     player.left.layer.setTransform(imageToCanvas)        // pixels of the original to CSS pixels; null fits the picture in
 *     player.left.onShown(({ frame }) => drawMarks(frame))  // after each paint, in the same animation frame
 *
 *     player.transport.step('left', -1)                     // a frame back; tied panes move together
 *     const drag = player.transport.jog('left'); drag.by(12) // twelve frames from where the drag began
 *     player.transport.setRate(1 / 4); player.transport.setLoop('left', { from, to }); player.transport.toggle('both')
 *     player.transport.tie(); player.transport.nudgeTie('right', 1); player.transport.untie(); player.swap()
 *
 *     useStore(player.transport.state, (state) => state.playing)   // rarely changes: fit for React
 *     player.transport.onMoved((heads) => movePeg(heads.left?.tick)) // every move: not for React state
 *
 *     player.useClock(() => audio.currentTime); player.transport.follow((seconds) => ticksAt(log, seconds), length)
 *
 * Opening rejects with a PlaybackError (its message is fit to be shown); what goes wrong later comes through
 * `onProblem`. `dispose` closes every decoded picture and ends the workers.
 */
export { createPlayer, type Player, type PlayerOptions } from './player.ts'
export { Pane, type PaneClip, type PaneOptions, type PaneStats } from './pane.ts'
export { Transport, otherSide, playRates, sides, type Heads, type Side, type TicksAt, type TransportState } from './transport.ts'
export { fitted, type OriginalFetcher, type Picture, type Shown } from './videoLayer.ts'
export { PlaybackError, type OpenedCopy, type PlaybackErrorKind } from './protocol.ts'
export type { Head } from './head.ts'
export type { PlayedCounts } from './playedFrames.ts'

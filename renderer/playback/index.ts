/**
 * Frame-exact playback of the stage's two panes, outside React.
 *
 *     const store = new StageStore()                          // the live stage; whoever records listens to it
 *     const transport = new Transport(store)
 *     const player = createPlayer({
 *       store, steady: true, advance: () => transport.advance(),
 *       media: { reviewUrl: (clipId) => desk.mediaUrl(...), original: (clipId, frame, signal) => ... },
 *       panes: [{ canvas: left }, { canvas: right }],         // canvases sized by CSS
 *     })
 *     store.know([clip]); store.dispatch({ type: 'pane', pane: 0, patch: { clipId: clip.id, tick: clip.frames.ticks[0] } })
 *     player.panes[0].layer.setTransform(imageToCanvas)       // pixels of the original to CSS pixels; null fits the picture in
 *     player.panes[0].onShown(({ frame }) => drawMarks(frame)) // after each paint, in the same animation frame
 *     player.panes[0].onProblem((error) => say(error.message))
 *
 *     transport.step(0, -1)                                    // a frame back; tied panes move together
 *     const drag = transport.jog(0); drag.by(12)               // twelve frames from where the drag began
 *     transport.setRate(1 / 4); transport.setLoop(0, { from, to }); transport.toggle('both')
 *     transport.tie(); transport.untie(); transport.swap()
 *     useStore(transport.state, (state) => state.rate)         // rarely changes: fit for React
 *
 * All of it becomes events of the stage. A walkthrough plays with the same player and no transport: its store is
 * `{ settled: (at) => replay.at(at ?? now()), clips: log.header.clips, now }`, where `now` is the time of its sound.
 */
export { createPlayer, type Player, type PlayerMedia, type PlayerOptions, type ShownStage } from './player.ts'
export { Pane, type PaneClip, type PaneOptions, type PaneStats } from './pane.ts'
export { Transport, otherPane, paneIds, playRates, type TransportState } from './transport.ts'
export { StageStore, type StageListener } from './stageStore.ts'
export { fitted, type OriginalFetcher, type Shown } from './videoLayer.ts'
export type { Picture } from './sharedPicture.ts'
export { PlaybackError, type OpenedCopy, type PlaybackErrorKind } from './protocol.ts'
export type { Head } from './head.ts'
export type { PlayedCounts } from './playedFrames.ts'

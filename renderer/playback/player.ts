import { Clock } from './clock.ts'
import { FrameLoop, type FrameHost } from './frameLoop.ts'
import { Pane, type PaneOptions } from './pane.ts'
import { Transport } from './transport.ts'

export interface PlayerOptions {
  readonly left: PaneOptions
  readonly right: PaneOptions
  readonly host?: FrameHost
}

/** Two panes and what moves them. */
export interface Player {
  readonly left: Pane
  readonly right: Pane
  readonly transport: Transport
  /** Exchanges the panes' clips, playheads and tie without opening anything anew. */
  swap(): void
  /** Seconds from outside (the sound of a walkthrough) in place of the window's; null gives the clock back. */
  useClock(seconds: (() => number) | null): void
  /**
   * Adds a step to each animation frame in which something moved, after both panes were painted: a layer of marks that
   * must be drawn in the same frame as its picture. True asks for one more frame.
   */
  onFrame(step: (now: number) => boolean): () => void
  /** Has the steps run at the next animation frame. */
  wake(): void
  dispose(): void
}

/** Puts the player together. The canvases stay the caller's; their sizes come from CSS. */
export function createPlayer(options: PlayerOptions): Player {
  const loop = new FrameLoop(options.host)
  const clock = new Clock()
  const transport = new Transport(clock, loop.wake)
  const left = new Pane('left', transport, loop.wake, options.left)
  const right = new Pane('right', transport, loop.wake, options.right)
  loop.add((now) => {
    clock.tick(now)
    const moving = transport.advance()
    left.update()
    right.update()
    return moving
  })
  return {
    left, right, transport,
    swap: () => Pane.swap(left, right),
    useClock: (seconds) => clock.use(seconds),
    onFrame: (step) => loop.add(step),
    wake: loop.wake,
    dispose() {
      left.dispose()
      right.dispose()
      loop.stop()
    },
  }
}

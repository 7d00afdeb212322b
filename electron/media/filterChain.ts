import { Filter, FilterContext, FilterGraph, FilterInOut, Frame, type Rational } from 'node-av'
import { isPause, must } from './ffmpeg.ts'

/** A running chain of FFmpeg filters with one input and one output. Free it with `using` or close(). */
export interface FilterChain extends Disposable {
  /** Time base of what comes out. */
  readonly timeBase: Rational
  /** Puts a frame in (null: no more) and hands each frame that comes out to `take`, which frees it. The input stays the caller's. */
  push(frame: Frame | null, take: (frame: Frame) => Promise<void> | void): Promise<void>
  /** As push, in the caller's own thread. */
  pushHere(frame: Frame | null, take: (frame: Frame) => void): void
  close(): void
}

/** A chain for pictures of one size and format. `chain` is written in FFmpeg's filter syntax. */
export function pictureChain(
  chain: string,
  input: { width: number, height: number, format: number, timeBase: { num: number, den: number }, colorSpace: number, colorRange: number },
  threads = 1,
): Promise<FilterChain> {
  const { width, height, format, timeBase } = input
  return openChain('buffer', 'buffersink', chain,
    `video_size=${width}x${height}:pix_fmt=${format}:time_base=${timeBase.num}/${timeBase.den}:colorspace=${input.colorSpace}:range=${input.colorRange}`, threads)
}

/** A chain for sound. `layout` is FFmpeg's name for the channel layout, such as `stereo`. */
export function soundChain(chain: string, input: { sampleRate: number, format: string, layout: string, timeBase: { num: number, den: number } }): Promise<FilterChain> {
  return openChain('abuffer', 'abuffersink', chain,
    `time_base=${input.timeBase.num}/${input.timeBase.den}:sample_rate=${input.sampleRate}:sample_fmt=${input.format}:channel_layout=${input.layout}`)
}

async function openChain(sourceName: string, sinkName: string, chain: string, args: string, threads = 1): Promise<FilterChain> {
  const graph = new FilterGraph()
  graph.alloc()
  try {
    // One thread each: the filters here are short, and the decoder and the encoder want the cores.
    graph.nbThreads = threads
    const source = contextOf(graph, sourceName, 'in', args)
    const sink = contextOf(graph, sinkName, 'out', null)
    // Seen from the written chain: its open input is fed by the source, its open output goes to the sink.
    using outputs = FilterInOut.createList([{ name: 'in', filterCtx: source, padIdx: 0 }])
    using inputs = FilterInOut.createList([{ name: 'out', filterCtx: sink, padIdx: 0 }])
    must(graph.parsePtr(chain, inputs, outputs), `read the filters ${chain}`)
    must(await graph.config(), `join the filters ${chain}`)
    return {
      timeBase: sink.buffersinkGetTimeBase(),
      async push(frame, take) {
        // buffersrcAddFrame takes the frame's buffers over; a second reference leaves the caller's frame whole.
        using copy = frame?.clone() ?? null
        must(await source.buffersrcAddFrame(copy), 'filter')
        for (;;) {
          const out = new Frame()
          out.alloc()
          const got = await sink.buffersinkGetFrame(out)
          if (got < 0) {
            out.free()
            if (isPause(got)) return
            must(got, 'filter')
          }
          await take(out)
        }
      },
      pushHere(frame, take) {
        using copy = frame?.clone() ?? null
        must(source.buffersrcAddFrameSync(copy), 'filter')
        for (;;) {
          const out = new Frame()
          out.alloc()
          const got = sink.buffersinkGetFrameSync(out)
          if (got < 0) {
            out.free()
            if (isPause(got)) return
            must(got, 'filter')
          }
          take(out)
        }
      },
      close: () => graph.free(),
      [Symbol.dispose]: () => graph.free(),
    }
  } catch (error) {
    graph.free()
    throw error
  }
}

function contextOf(graph: FilterGraph, filter: string, name: string, args: string | null): FilterContext {
  const found = Filter.getByName(filter)
  const context = found && graph.createFilter(found, name, args)
  if (!context) throw new Error(`the filter ${filter} could not be made`)
  return context
}

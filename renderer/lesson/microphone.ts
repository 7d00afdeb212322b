import { levelOf } from './pieces.ts'
import type { FromMicrophone } from './microphoneWorker.ts'
import type { SoundSource } from './soundSource.ts'

/** Why there is no microphone, in words for the coach. */
export class MicrophoneError extends Error {
  readonly remedy: string
  constructor(message: string, remedy: string) {
    super(message)
    this.name = 'MicrophoneError'
    this.remedy = remedy
  }
}

/** Names of the inputs of this machine; empty labels until the microphone was allowed once. */
export async function listInputs(): Promise<{ id: string; name: string }[]> {
  const devices = await navigator.mediaDevices.enumerateDevices()
  return devices
    .filter((device) => device.kind === 'audioinput' && device.deviceId !== '')
    .map((device, i) => ({ id: device.deviceId, name: device.label || `Input ${i + 1}` }))
}

/**
 * Opens an input, unprocessed: a voice recorded for keeps should not be gated or levelled by a call's filters.
 * Resolves once the first sound has come; rejects with a MicrophoneError.
 *
 * @param deviceId '' for the system's own choice
 */
export async function openMicrophone(deviceId: string): Promise<SoundSource> {
  if (!navigator.mediaDevices?.getUserMedia || typeof MediaStreamTrackProcessor === 'undefined')
    throw new MicrophoneError('This window cannot reach a microphone.', 'Use the desktop app or a current Chromium, or record without voice.')
  let stream: MediaStream
  try {
    stream = await navigator.mediaDevices.getUserMedia({
      audio: {
        ...(deviceId === '' ? {} : { deviceId: { exact: deviceId } }),
        echoCancellation: false,
        autoGainControl: false,
        noiseSuppression: false,
      },
    })
  } catch (error) {
    throw explain(error)
  }
  const track = stream.getAudioTracks()[0]!
  const { readable } = new MediaStreamTrackProcessor({ track })
  const worker = new Worker(new URL('./microphoneWorker.ts', import.meta.url), { type: 'module' })
  const shut = () => {
    worker.terminate()
    for (const each of stream.getTracks()) each.stop()
  }
  return new Promise((resolve, reject) => {
    const patience = setTimeout(() => {
      shut()
      reject(new MicrophoneError('The microphone sends no sound.', 'Check that it is plugged in and not used by another program, or choose another input.'))
    }, 5000)
    let source: SoundSource | null = null
    const lose = (why: string) => {
      clearTimeout(patience)
      shut()
      if (source) source.onLost(why)
      else reject(new MicrophoneError(`The microphone could not be read: ${why}.`, 'Choose another input, or plug it in again.'))
    }
    track.onended = () => lose('it was unplugged or taken away')
    worker.onerror = (event) => lose(event.message)
    worker.onmessage = ({ data }: MessageEvent<FromMicrophone>) => {
      if (data.kind === 'lost') return lose(data.why)
      if (data.kind === 'opened') {
        clearTimeout(patience)
        source = { sampleRate: data.sampleRate, voiced: true, onPiece: () => {}, onLevel: () => {}, onLost: () => {}, close: shut }
        return resolve(source)
      }
      source?.onLevel(levelOf(data.samples))
      source?.onPiece({ samples: data.samples, at: data.at })
    }
    worker.postMessage({ readable, timeOrigin: performance.timeOrigin }, [readable])
  })
}

function explain(error: unknown): MicrophoneError {
  const name = error instanceof DOMException ? error.name : ''
  if (name === 'NotAllowedError')
    return new MicrophoneError('The microphone is not allowed.', 'Allow it for this window in the system\'s privacy settings, then press record again; or record without voice.')
  if (name === 'NotFoundError' || name === 'OverconstrainedError')
    return new MicrophoneError('No such microphone was found.', 'Plug one in or choose another input; or record without voice.')
  if (name === 'NotReadableError')
    return new MicrophoneError('The microphone is in use by another program.', 'Close the other program, or choose another input.')
  return new MicrophoneError(`The microphone could not be opened${error instanceof Error ? `: ${error.message}` : ''}.`, 'Choose another input, or record without voice.')
}

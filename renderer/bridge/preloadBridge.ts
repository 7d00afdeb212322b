import { DeskError, faultSchema } from '../../shared/contract/errors.ts'
import { deskEventSchema, type Input, type OperationName, type Output } from '../../shared/contract/operations.ts'
import { asDeskError, type Bridge } from './bridge.ts'
import type { PreloadApi } from './preloadApi.ts'

/** The desk behind Electron's preload. */
export function preloadBridge(api: PreloadApi): Bridge {
  return {
    connected: true,
    onConnection: () => () => {},
    async call<N extends OperationName>(name: N, input: Input<N>): Promise<Output<N>> {
      let answer: Awaited<ReturnType<PreloadApi['call']>>
      try {
        answer = await api.call(name, input)
      } catch (error) {
        throw asDeskError(error)
      }
      if ('value' in answer) return answer.value as Output<N>
      throw DeskError.from(faultSchema.parse(answer.fault))
    },
    listen: (heard) =>
      api.listen((event) => {
        const known = deskEventSchema.safeParse(event)
        if (known.success) heard(known.data)
      }),
    mediaUrl: (path) => `${api.mediaRoot}${path}`,
    async stage(file, { onProgress } = {}) {
      const path = api.pathOf(file)
      if (path === '')
        throw new DeskError('bad-input', `${file.name} does not lie on a disk of this machine.`, {
          where: file.name,
          remedy: 'Save it to a folder first, then choose it there.',
        })
      onProgress?.(1)
      return { path }
    },
  }
}

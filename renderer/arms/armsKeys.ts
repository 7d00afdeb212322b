import type { KeyBinding } from '../ui/keys.ts'
import { tellFault } from '../ui/notices.ts'
import type { ArmsRoom } from './armsRoom.ts'
import { fixedViewWords, orbitSteps, type FixedView } from './figure/eye.ts'
import { putInCorner, putOnPicture, renew, takeOff } from './put.ts'

/** Every key of the room; the sheet of keys is made from this list. */
export function armsKeys(room: ArmsRoom): KeyBinding[] {
  const scope = 'arms'
  const move = 'Elbow and shaft'
  const eye = 'Looking'
  const pictures = 'Onto the picture'
  // While a swing is being fetched nothing stands there that a key could move.
  const onElbow = (): boolean => room.state.getState().tab === 'elbow' && room.shown !== null
  const onFace = (): boolean => room.state.getState().tab === 'face'
  const key = (id: string, keys: string | readonly string[], words: string, group: string, run: () => void, repeats = false): KeyBinding => ({ id, keys, words, scope, group, run, repeats, when: onElbow })
  const views = (Object.keys(fixedViewWords) as FixedView[]).map((view, i) => key(`arms-look-${view}`, String(i + 1), `Look ${fixedViewWords[view]}`, eye, () => room.look(view)))
  const turns = (Object.entries(orbitSteps) as [string, readonly [string, string, number, number]][]).map(([id, [keys, words, dx, dy]]) => key(id, keys, words, eye, () => room.turn(dx, dy), true))
  return [
    key('elbow-out', 'ArrowRight', 'Trail elbow a degree out behind', move, () => room.moveSwivel(1), true),
    key('elbow-in', 'ArrowLeft', 'Trail elbow a degree in', move, () => room.moveSwivel(-1), true),
    key('elbow-out-far', 'Shift+ArrowRight', 'Five degrees out', move, () => room.moveSwivel(5), true),
    key('elbow-in-far', 'Shift+ArrowLeft', 'Five degrees in', move, () => room.moveSwivel(-5), true),
    key('shaft-across', 'ArrowUp', 'Shaft a degree across; the elbow follows', move, () => room.moveAzimuth(1), true),
    key('shaft-laid-off', 'ArrowDown', 'Shaft a degree laid off', move, () => room.moveAzimuth(-1), true),
    key('find-elbow', 'Enter', 'Put the elbow where the wished shaft wants it', move, () => room.fulfil()),
    key('as-filmed-or-wanted', 'w', 'As it is, or as wanted', move, () => room.setBlend(room.blend > 0.5 ? 0 : 1)),
    key('back-to-filmed', 'Backspace', 'Elbow back to where it is', move, () => room.backToNow()),
    ...views, ...turns,
    key('put-on-picture', 'p', 'Put the figure on the picture', pictures, () => void putOnPicture(room).catch(tellFault)),
    key('put-in-corner', 'c', 'Put the figure in the corner', pictures, () => void putInCorner(room).catch(tellFault)),
    key('take-off', 'Delete', 'Take the room\u2019s marks off the pictures', pictures, () => void takeOff(room).catch(tellFault)),
    { id: 'renew', keys: 'r', words: 'Make the marks of an earlier fit anew', scope, group: pictures, run: () => void renew(room).catch(tellFault) },
    { id: 'face-undo', keys: 'Mod+z', words: 'Undo what was said of face and path', scope, group: 'Face and path', repeats: true, when: onFace, run: () => room.faceKept.undo() },
    { id: 'face-redo', keys: ['Mod+Shift+z', 'Mod+y'], words: 'Redo', scope, group: 'Face and path', repeats: true, when: onFace, run: () => room.faceKept.redo() },
    { id: 'arms-tab', keys: 'f', words: 'Elbow and shaft, or face and two-way miss', scope, run: () => room.state.setState(({ tab }) => ({ tab: tab === 'elbow' ? 'face' : 'elbow' })) },
  ]
}

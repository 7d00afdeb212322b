import { useMemo } from 'react'
import { toSamples } from '../../../shared/walkthrough/edits.ts'
import type { KeyBinding } from '../../ui/keys.ts'
import { useKeys } from '../../ui/useKeys.ts'
import { isWalkthroughShown } from '../lessonPage.ts'
import { chapterHere, copySelection, cutSelection, heldLength, moveSelectionTo, pasteHere, pauseHere } from './actions.ts'
import { toChapter, trays, type TrayId } from './EditBar.tsx'
import { zoomWaves, type EditingParts } from './LessonEditing.tsx'
import { takeAgain } from './takeAgain.ts'

const group = 'Editing'

/** Everything that the hand can do, by key. */
export function EditKeys({ parts, onTray, onCompare }: { readonly parts: EditingParts; readonly onTray: (id: TrayId) => void; readonly onCompare: (asRecorded: boolean) => void }) {
  const { editor, player, fixing } = parts
  useKeys(useMemo<KeyBinding[]>(() => {
    const seekBy = (ms: number) => () => player.seek(player.now() + ms)
    const key = (id: string, keys: KeyBinding['keys'], words: string, run: () => void, more: Partial<KeyBinding> = {}): KeyBinding => ({ id: `lesson-${id}`, keys, words, scope: 'lesson', run, ...more, when: () => isWalkthroughShown() && (more.when?.() ?? true) })
    const edge = (end: 'from' | 'to'): void => {
      const { selection, programme } = editor.view.getState()
      const at = toSamples(player.now())
      const other = selection ?? { from: 0, to: programme?.length ?? 0 }
      editor.select(end === 'from' ? { from: at, to: other.to > at ? other.to : programme?.length ?? at } : { from: other.from < at ? other.from : 0, to: at })
    }
    const hasSelection = (): boolean => editor.view.getState().selection !== null
    const hasMark = (): boolean => fixing.view.getState().isOn && fixing.view.getState().markId !== null
    return [
      key('play', 'Space', 'Play or pause', () => player.toggle()),
      key('back', 'ArrowLeft', 'Back 5 seconds', seekBy(-5000), { repeats: true }),
      key('on', 'ArrowRight', 'On 5 seconds', seekBy(5000), { repeats: true }),
      key('fine-back', 'Shift+ArrowLeft', 'Back a tenth of a second', seekBy(-100), { repeats: true }),
      key('fine-on', 'Shift+ArrowRight', 'On a tenth of a second', seekBy(100), { repeats: true }),
      key('chapter-back', 'ArrowUp', 'To the chapter before', () => toChapter(parts, -1)),
      key('chapter-on', 'ArrowDown', 'To the next chapter', () => toChapter(parts, 1)),
      key('start', 'Home', 'To the beginning', () => player.seek(0)),
      key('end', 'End', 'To the end', () => player.seek(Math.max(0, (editor.view.getState().programme?.lengthMs ?? 0) - 50))),
      key('from', '[', 'The selection begins here', () => edge('from'), { group }),
      key('to', ']', 'The selection ends here', () => edge('to'), { group }),
      key('select-none', 'Escape', 'Select nothing', () => {
        if (hasMark()) fixing.choose(null)
        else editor.select(null)
      }, { group }),
      key('cut', ['Delete', 'Backspace'], 'Cut the selection, or take the chosen mark away', () => {
        if (hasMark()) fixing.remove('Take a mark away')
        else cutSelection(editor)
      }, { group }),
      key('cut-keep', 'Mod+x', 'Cut the selection to put it in elsewhere', () => cutSelection(editor, true), { group, when: hasSelection }),
      key('copy', 'Mod+c', 'Copy the selection', () => copySelection(editor), { group, when: hasSelection }),
      key('paste', 'Mod+v', 'Put in here what was cut or copied', () => pasteHere(editor, player.now()), { group, when: () => heldLength() > 0 }),
      key('move', 'Mod+Shift+v', 'Move the selection here', () => moveSelectionTo(editor, player.now()), { group, when: hasSelection }),
      key('retake', 'r', 'Retake the selection, or from here', () => takeAgain(parts, 'again'), { group }),
      key('insert', 'n', 'Record a new part to be put in here', () => takeAgain(parts, 'insert'), { group }),
      key('pause', 'p', 'Hold the picture for 2 seconds here', () => pauseHere(editor, player.now(), 2), { group }),
      key('chapter', 'c', 'A chapter begins here', () => chapterHere(editor, player.now(), nextChapter(parts)), { group }),
      key('undo', 'Mod+z', 'Undo', () => editor.undo(), { group, repeats: true }),
      key('redo', ['Mod+Shift+z', 'Mod+y'], 'Redo', () => editor.redo(), { group, repeats: true }),
      key('zoom-in', '+', 'Zoom in', () => zoomWaves(editor, 2), { group }),
      key('zoom-out', '-', 'Zoom out', () => zoomWaves(editor, 0.5), { group }),
      key('zoom-all', '0', 'The whole lesson', () => zoomWaves(editor, 0), { group }),
      key('before', 'b', 'Hear the sound as recorded while held', () => onCompare(true), { group, released: () => onCompare(false) }),
      ...([['ArrowLeft', -1, 0], ['ArrowRight', 1, 0], ['ArrowUp', 0, -1], ['ArrowDown', 0, 1]] as const).map(([arrow, dx, dy]) =>
        key(`nudge-${arrow}`, `Alt+${arrow}`, 'Move the chosen mark by a pixel', () => fixing.nudge(dx, dy), { group: 'Marks set right', when: hasMark })),
      ...trays.map(({ id, words, keys }) => key(`tray-${id}`, keys, `Open or close: ${words.toLowerCase()}`, () => onTray(id), { group: 'Look through' })),
    ]
  }, [parts, editor, player, fixing, onTray, onCompare]))
  return null
}

export const nextChapter = ({ editor }: Pick<EditingParts, 'editor'>): string => `Chapter ${(editor.view.getState().lesson?.edits.chapters.length ?? 0) + 1}`

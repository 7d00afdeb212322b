import { useStore } from 'zustand'
import { minuteWords } from '../../ui/words.ts'
import type { EditingParts } from './LessonEditing.tsx'

/** All that was done to the lesson, newest first; any state of it can be gone back to. */
export function StepsPanel({ parts: { editor } }: { readonly parts: EditingParts }) {
  const lesson = useStore(editor.view, (view) => view.lesson)!
  return (
    <ol className="tray-list tray-steps" reversed>
      {lesson.steps.toReversed().map(({ number, name, madeAt }) => (
        <li key={number}>
          <button type="button" className="tray-step" aria-current={number === lesson.step ? 'step' : undefined} data-undone={number > lesson.step || undefined} onClick={() => editor.toStep(number)}>
            <span>{name}</span>
            <span className="quiet">{number > lesson.step ? 'undone' : minuteWords(madeAt)}</span>
          </button>
        </li>
      ))}
      <li key={0}>
        <button type="button" className="tray-step" aria-current={lesson.step === 0 ? 'step' : undefined} onClick={() => editor.toStep(0)}>
          <span>As it was recorded</span>
          <span className="quiet">{minuteWords(lesson.takes[0]!.createdAt)}</span>
        </button>
      </li>
    </ol>
  )
}

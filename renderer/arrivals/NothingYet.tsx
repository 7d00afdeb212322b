import { useState } from 'react'
import { Button } from '../ui/Button.tsx'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { EmptyState } from '../ui/EmptyState.tsx'
import { isOpen } from '../ui/jobTimes.ts'
import { attempt } from '../ui/notices.ts'
import { openSheet } from './roomStore.ts'

/** An empty library: what to do first. */
export function NothingYet({ onPick }: { readonly onPick: () => void }) {
  const desk = useDesk()
  const isMaking = useLibrary((library) => library.jobs.some((job) => job.kind === 'demo' && isOpen(job)))
  const [asked, setAsked] = useState(false)
  const install = async (): Promise<void> => {
    setAsked(true)
    await attempt(() => desk.call('demo.install', {}))
    setAsked(false)
  }
  return (
    <EmptyState
      title="Nothing has come in yet"
      actions={
        <>
          <Button look="primary" onClick={onPick}>Take in files</Button>
          <Button onClick={() => openSheet({ kind: 'student', studentId: null })}>Add a student</Button>
          <Button disabled={isMaking || asked} onClick={() => void install()}>{isMaking ? 'The demo kit is being made' : 'Try it with the demo kit'}</Button>
        </>
      }
    >
      <p>Drop the clips that a student sent anywhere on this window, or choose them. You are asked once who swings, which club, and what they want to know.</p>
      <p>The demo kit brings two invented students and a reference swing, so that every room can be tried without anybody's footage.</p>
    </EmptyState>
  )
}

import { useLibrary } from '../ui/desk.tsx'
import { useClips, useDelivery } from '../ui/useRecords.ts'
import { RemoveClips, RemoveStudent } from './Removal.tsx'
import { chooseStudent, openSheet, useArrivals } from './roomStore.ts'
import { DeliverySheet, StudentSheet } from './StudentSheet.tsx'
import { TakeInSheet } from './TakeInSheet.tsx'

const close = (): void => openSheet(null)

/** The dialog that stands open, if one does. */
export function Sheets({ onAddFiles }: { readonly onAddFiles: () => void }) {
  const sheet = useArrivals((state) => state.sheet)
  const students = useLibrary((library) => library.students)
  const clips = useClips(sheet?.kind === 'remove-clips' ? sheet.clipIds : [])
  const delivery = useDelivery(sheet?.kind === 'delivery' ? sheet.deliveryId : null)
  if (!sheet) return null
  switch (sheet.kind) {
    case 'take-in':
      return <TakeInSheet files={sheet.files} studentId={sheet.studentId} onAddFiles={onAddFiles} onClose={close} />
    case 'student':
      return <StudentSheet student={students.find((one) => one.id === sheet.studentId) ?? null} onClose={close} onSaved={(student) => chooseStudent(student.id)} />
    case 'remove-student': {
      const student = students.find((one) => one.id === sheet.studentId)
      return student ? <RemoveStudent student={student} onClose={close} /> : null
    }
    case 'remove-clips':
      return clips.length > 0 ? <RemoveClips clips={clips} onClose={close} /> : null
    case 'delivery':
      return delivery ? <DeliverySheet delivery={delivery} onClose={close} /> : null
  }
}

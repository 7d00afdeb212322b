import { useState } from 'react'
import type { Output } from '../../shared/contract/operations.ts'
import { Button } from './Button.tsx'
import { useDesk } from './desk.tsx'
import { TextField, Warning } from './Field.tsx'
import { faultOf } from './notices.ts'

type Listing = Output<'folder.list'>

const joined = (folder: string, name: string): string => {
  const separator = folder.includes('\\') && !folder.includes('/') ? '\\' : '/'
  return name === '' ? folder : `${folder.endsWith(separator) ? folder.slice(0, -1) : folder}${separator}${name}`
}

/** A folder's full path, typed or found by looking round; with `newName`, a folder of that name inside the one found. */
export function FolderField({ label, hint, value, onChange, newName = '', disabled = false }: {
  readonly label: string
  readonly hint?: string
  readonly value: string
  readonly onChange: (path: string) => void
  readonly newName?: string
  readonly disabled?: boolean
}) {
  const desk = useDesk()
  const [listing, setListing] = useState<Listing | null>(null)
  const [fault, setFault] = useState<string | null>(null)

  const look = async (path: string | null): Promise<void> => {
    try {
      setListing(await desk.call('folder.list', { path }))
      setFault(null)
    } catch (error) {
      setFault(faultOf(error).message)
    }
  }
  const take = (path: string): void => {
    onChange(joined(path, newName))
    setListing(null)
  }
  return (
    <div className="folder-field">
      <div className="folder-line">
        <TextField label={label} placeholder="Full path" value={value} onChange={(event) => onChange(event.target.value)} />
        <Button disabled={disabled} aria-expanded={listing !== null} aria-label={`${label}: look round`} onClick={() => listing ? setListing(null) : void look(null)}>Look round</Button>
      </div>
      {fault ? <p className="field-fault" role="alert"><Warning />{fault}</p> : hint ? <p className="field-hint">{hint}</p> : null}
      {listing ? (
        <div className="folder-browser" role="group" aria-label={`Folders for: ${label}`}>
          <div className="folder-places">{listing.places.map((place) => <Button key={place.path} look="plain" onClick={() => void look(place.path)}>{place.name}</Button>)}</div>
          <p className="folder-here">
            <Button look="plain" disabled={listing.parent === null} onClick={() => void look(listing.parent)}>Up</Button>
            <span className="clip-text" title={listing.path}>{listing.path}</span>
            <Button look="primary" onClick={() => take(listing.path)}>{newName ? 'Make it here' : 'This one'}</Button>
          </p>
          {listing.folders.length
            ? <ul>{listing.folders.map((folder) => <li key={folder.path}><button type="button" onClick={() => void look(folder.path)}>{folder.name}</button></li>)}</ul>
            : <p className="quiet">No folders in here.</p>}
        </div>
      ) : null}
    </div>
  )
}

import type { ComponentProps } from 'react'

type ButtonProps = ComponentProps<'button'> & {
  /** primary: the one action that leads on. danger: takes something away. plain: without a frame, in lists and bars. */
  readonly look?: 'primary' | 'normal' | 'danger' | 'plain'
}

export function Button({ look = 'normal', className = '', ...rest }: ButtonProps) {
  return <button type="button" {...rest} className={`button button-${look} ${className}`} />
}

/** A tool that is on or off, named by a word; its key stands beside it where it has one. */
export function ToolButton({ pressed, keys, children, ...rest }: ComponentProps<'button'> & { readonly pressed?: boolean; readonly keys?: string }) {
  return (
    <button type="button" {...rest} className={`tool ${rest.className ?? ''}`} aria-pressed={pressed}>
      {children}
      {keys ? <kbd aria-hidden="true">{keys}</kbd> : null}
    </button>
  )
}

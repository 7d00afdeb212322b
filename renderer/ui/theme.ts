import type { Desk } from '../../shared/contract/operations.ts'
import { appStore, type AppState } from './appStore.ts'
import { attempt } from './notices.ts'

/** Shows a theme at once; where a desk is given, it is kept for the next time too. */
export function setTheme(theme: AppState['theme'], desk?: Desk): void {
  document.documentElement.dataset.theme = theme
  appStore.setState({ theme })
  if (desk) void attempt(() => desk.call('settings.set', { theme }))
}

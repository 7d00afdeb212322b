import type { Finding, FindingOrder, FindingRole } from '../contract/finding.ts'

/** Findings in their places as ids. */
export const orderOf = (findings: readonly Finding[]): FindingOrder => {
  const of = (role: FindingRole): string[] => findings.filter((finding) => finding.role === role).toSorted((a, b) => a.order - b.order || a.createdAt - b.createdAt).map(({ id }) => id)
  const [cause = null, ...more] = of('cause')
  return { cause, follows: [...more, ...of('follows')], aside: of('aside') }
}

/** Ids from the cause down. */
export const listOf = ({ cause, follows, aside }: FindingOrder): string[] => [...(cause === null ? [] : [cause]), ...follows, ...aside]

/**
 * The order with a finding put to a role before another (null: at its end). There is one cause: what was it until now is
 * the first thing that follows.
 */
export function moved(order: FindingOrder, id: string, role: FindingRole, before: string | null = null): FindingOrder {
  const without = (ids: readonly string[]): string[] => ids.filter((each) => each !== id)
  const put = (ids: readonly string[]): string[] => {
    const rest = without(ids)
    const at = before === null ? -1 : rest.indexOf(before)
    return at < 0 ? [...rest, id] : rest.toSpliced(at, 0, id)
  }
  const cause = order.cause === id ? null : order.cause
  const follows = without(order.follows)
  const aside = without(order.aside)
  if (role === 'cause') return { cause: id, follows: cause === null ? follows : [cause, ...follows], aside }
  return role === 'follows' ? { cause, follows: put(order.follows), aside } : { cause, follows, aside: put(order.aside) }
}

/** One place up or down, across the borders between the roles. */
export function stepped(order: FindingOrder, id: string, by: 1 | -1): FindingOrder {
  const { cause, follows, aside } = order
  // Below the cause stands what will be the cause in its place, where there is anything.
  if (id === cause) return by < 0 ? order : follows[0] === undefined ? moved({ ...order, cause: null }, id, 'follows') : moved(order, follows[0], 'cause')
  const inFollows = follows.indexOf(id)
  if (inFollows >= 0) {
    if (by < 0) return inFollows === 0 ? moved(order, id, 'cause') : moved(order, id, 'follows', follows[inFollows - 1]!)
    return inFollows === follows.length - 1 ? moved(order, id, 'aside', aside[0] ?? null) : moved(order, id, 'follows', follows[inFollows + 2] ?? null)
  }
  const inAside = aside.indexOf(id)
  if (inAside < 0) return order
  if (by < 0) return inAside === 0 ? moved(order, id, 'follows') : moved(order, id, 'aside', aside[inAside - 1]!)
  return inAside === aside.length - 1 ? order : moved(order, id, 'aside', aside[inAside + 2] ?? null)
}

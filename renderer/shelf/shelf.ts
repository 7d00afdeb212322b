import type { Input } from '../../shared/contract/operations.ts'
import type { ShelfItem, ShelfOrder } from '../../shared/contract/shelf.ts'
import { parseShelfQuery, queryText, sameTerm, termText, type ShelfTerm } from '../../shared/shelf/query.ts'
import type { Bridge } from '../bridge/index.ts'
import { attempt, faultOf, tellDone } from '../ui/notices.ts'
import { Pages } from './pages.ts'
import { createShelfState, type ShelfSheet, type Step } from './shelfState.ts'

/** A choice larger than this is acted on, but not shown in full. */
const mostKnown = 200
const mostChosen = 10_000
const mostUndo = 30
const swings = (n: number): string => (n === 1 ? '1 swing' : `${n.toLocaleString('en')} swings`)

/** The Shelf outside React: what is looked for, what is found, what is chosen, what is done with it. */
export class Shelf {
  readonly desk: Bridge
  readonly state = createShelfState()
  readonly pages: Pages
  #asking = false
  #again = false
  #known = 0

  constructor(desk: Bridge) {
    this.desk = desk
    this.pages = new Pages(desk, {
      found: (query, { total, order, corrected }) => this.state.setState((old) => ({
        total, shown: { order, corrected }, fault: null, changes: old.changes + 1, finds: old.finds + 1, cursor: Math.min(old.cursor, Math.max(0, total - 1)),
      })),
      more: () => this.state.setState((old) => ({ changes: old.changes + 1 })),
      failed: (error) => this.state.setState({ fault: faultOf(error) }),
    })
  }

  /** Keeps in step with the desk until the returned function is called. */
  begin(): () => void {
    void this.search()
    void this.lists()
    return this.desk.listen((event) => {
      if (event.type !== 'changed') return
      if (['shelf', 'clips', 'swings', 'students', 'deliveries', 'collections'].includes(event.what)) this.refresh()
    })
  }

  get query(): { readonly text: string; readonly order: ShelfOrder } {
    const { chips, typed, order } = this.state.getState()
    return { text: `${queryText(chips)} ${typed}`.trim(), order }
  }

  /** Searches for what stands in the box and the chips, from the top. */
  search(): Promise<void> {
    this.state.setState({ cursor: 0 })
    return this.pages.ask(this.query)
  }

  /** Changes come in bursts: one more asking for all that came while one was under way. */
  refresh(): void {
    if (this.#asking) {
      this.#again = true
      return
    }
    this.#asking = true
    void Promise.all([this.pages.ask(this.query, this.state.getState().cursor), this.lists(), this.#knowChosen()]).finally(() => {
      this.#asking = false
      if (!this.#again) return
      this.#again = false
      this.refresh()
    })
  }

  async lists(): Promise<void> {
    await attempt(async () => {
      const [collections, words] = await Promise.all([this.desk.call('collection.list', {}), this.desk.call('shelf.words', {})])
      this.state.setState({ collections, words })
    })
  }

  /** Takes what is being typed. A filter that was ended by a space becomes a chip. */
  type(text: string): void {
    const { chips } = this.state.getState()
    if (!/\s$/.test(text) || (text.split('"').length - 1) % 2 === 1) {
      this.state.setState({ typed: text })
    } else {
      const terms = parseShelfQuery(text)
      const filters = terms.filter((term) => term.kind !== 'words' || term.not)
      const rest = terms.filter((term) => term.kind === 'words' && !term.not)
      this.state.setState({
        chips: withTerms(chips, filters), typed: filters.length === 0 ? text.replace(/^\s+/, '') : rest.map((term) => `${termText(term)} `).join(''),
      })
    }
    void this.search()
  }

  /** Makes chips of all filters in the box, as at Enter. */
  commit(): void {
    const { typed } = this.state.getState()
    if (typed.trim() !== '' && !typed.endsWith(' ')) this.type(`${typed}${(typed.split('"').length - 1) % 2 === 1 ? '"' : ''} `)
  }

  addChip(term: ShelfTerm): void {
    this.state.setState(({ chips }) => ({ chips: withTerms(chips, [term]) }))
    void this.search()
  }

  /** Takes a chip away; `toBox` puts it back into the box to be changed. */
  dropChip(term: ShelfTerm, toBox = false): void {
    this.state.setState(({ chips, typed }) => ({ chips: chips.filter((one) => !sameTerm(one, term)), typed: toBox ? `${termText(term)}${typed ? ` ${typed}` : ''}` : typed }))
    void this.search()
  }

  toggleChip(term: ShelfTerm): void {
    if (this.state.getState().chips.some((one) => sameTerm(one, term))) this.dropChip(term)
    else this.addChip(term)
  }

  clear(): void {
    this.state.setState({ chips: [], typed: '' })
    void this.search()
  }

  setOrder(order: ShelfOrder): void {
    this.state.setState({ order })
    void this.search()
  }

  /** Chooses one alone, or with `more` one more or one less. */
  choose(index: number, more: boolean): void {
    const item = this.pages.at(index)
    if (!item) return
    const { chosen } = this.state.getState()
    const isChosen = chosen.includes(item.key)
    if (more) this.#setChosen(isChosen ? chosen.filter((key) => key !== item.key) : [...chosen, item.key])
    else this.#setChosen(isChosen && chosen.length === 1 ? [] : [item.key])
    this.state.setState({ cursor: index })
  }

  /** Chooses everything between two places too. */
  async chooseTo(from: number, to: number): Promise<void> {
    const [first, last] = from < to ? [from, to] : [to, from]
    const between = Array.from({ length: Math.min(last - first + 1, mostChosen) }, (_, i) => this.pages.at(first + i))
    this.state.setState({ cursor: to })
    if (between.every((item) => item !== undefined)) return this.#setChosen([...new Set([...this.state.getState().chosen, ...between.map(({ key }) => key)])])
    const keys = await attempt(() => this.desk.call('shelf.keys', { ...this.query, most: Math.min(last + 1, mostChosen) }))
    if (keys) this.#setChosen([...new Set([...this.state.getState().chosen, ...keys.slice(first, last + 1)])])
  }

  async chooseAll(): Promise<void> {
    const keys = await attempt(() => this.desk.call('shelf.keys', { ...this.query, most: mostChosen }))
    if (keys) this.#setChosen(keys)
  }

  chooseNone(): void {
    this.#setChosen([])
  }

  #setChosen(chosen: readonly string[]): void {
    this.state.setState({ chosen })
    void this.#knowChosen()
  }

  async #knowChosen(): Promise<void> {
    const { chosen } = this.state.getState()
    const serial = ++this.#known
    const first = chosen.slice(0, mostKnown)
    const here = new Map([...this.pages.known(first), ...this.state.getState().chosenItems].map((item) => [item.key, item]))
    // What is known shows at once; what the desk says replaces it.
    this.state.setState({ chosenItems: first.flatMap((key) => here.get(key) ?? []) })
    if (chosen.length === 0) return
    const items = await attempt(() => this.desk.call('shelf.get', { keys: first }))
    if (!items || serial !== this.#known) return
    const left = new Set(items.map(({ key }) => key))
    // What has gone from the library is not chosen any more.
    this.state.setState({ chosenItems: items, chosen: chosen.filter((key, i) => i >= mostKnown || left.has(key)) })
  }

  /** What is acted on: what is chosen, else what the keyboard is at. */
  get targets(): readonly string[] {
    const { chosen, cursor } = this.state.getState()
    const here = this.pages.at(cursor)
    return chosen.length > 0 ? chosen : here ? [here.key] : []
  }

  async #items(keys: readonly string[]): Promise<readonly ShelfItem[]> {
    return this.desk.call('shelf.get', { keys: [...keys] })
  }

  openSheet(sheet: ShelfSheet | null): void {
    this.state.setState({ sheet })
  }

  async note(keys: readonly string[], patch: Input<'shelf.note'>['patch'], words: string): Promise<void> {
    if (keys.length === 0) return
    const reading = this.#items(keys)
    // What was clicked shows at once; what the desk says replaces it.
    this.#show(this.state.getState().chosenItems.filter(({ key }) => keys.includes(key)).map((item) => ({ ...item, ...patch }) as ShelfItem))
    const done = await attempt(async () => {
      const before = await reading
      const names = [...new Set([...Object.keys(patch), ...(patch.reference ? ['permission'] : [])])] as (keyof typeof patch)[]
      this.#show(await this.desk.call('shelf.note', { keys: [...keys], patch }))
      this.#did({
        words: `${words}: ${swings(keys.length)}`,
        back: async () => {
          // Those that were alike go back together.
          const groups = Map.groupBy(before, (item) => JSON.stringify(names.map((name) => item[name])))
          for (const group of groups.values()) await this.desk.call('shelf.note', { keys: group.map(({ key }) => key), patch: Object.fromEntries(names.map((name) => [name, group[0]![name]])) })
        },
      })
      return true
    })
    if (!done) this.refresh()
  }

  async tag(keys: readonly string[], add: readonly string[], remove: readonly string[]): Promise<void> {
    if (keys.length === 0) return
    await attempt(async () => {
      const before = await this.#items(keys)
      this.#show(await this.desk.call('shelf.tag', { keys: [...keys], add: [...add], remove: [...remove] }))
      const had = (item: ShelfItem, tag: string): boolean => item.tags.some((one) => one.toLowerCase() === tag.toLowerCase())
      this.#did({
        words: `${add.length > 0 ? `Tagged ${add.join(', ')}` : `Took the tag ${remove.join(', ')} away`}: ${swings(keys.length)}`,
        back: async () => {
          for (const tag of add) await this.#each(before.filter((item) => !had(item, tag)), (list) => this.desk.call('shelf.tag', { keys: list, add: [], remove: [tag] }))
          for (const tag of remove) await this.#each(before.filter((item) => had(item, tag)), (list) => this.desk.call('shelf.tag', { keys: list, add: [tag], remove: [] }))
        },
      })
    })
  }

  /** Puts changed items wherever they are shown. */
  #show(items: readonly ShelfItem[]): void {
    const changed = new Map(items.map((item) => [item.key, item]))
    this.state.setState(({ chosenItems }) => ({ chosenItems: chosenItems.map((item) => changed.get(item.key) ?? item) }))
    this.pages.put(items)
  }

  async #each(items: readonly ShelfItem[], act: (keys: string[]) => Promise<unknown>): Promise<void> {
    if (items.length > 0) await act(items.map(({ key }) => key))
  }

  /** Puts swings into a collection, or takes them out. */
  async gather(id: string, keys: readonly string[], on: boolean): Promise<void> {
    if (keys.length === 0) return
    await attempt(async () => {
      const before = await this.#items(keys)
      const { name } = await this.desk.call('collection.put', { id, keys: [...keys], on })
      const changed = before.filter(({ collections }) => collections.includes(id) !== on)
      this.#did({ words: `${on ? `Put into ${name}` : `Took out of ${name}`}: ${swings(keys.length)}`, back: () => this.#each(changed, (list) => this.desk.call('collection.put', { id, keys: list, on: !on })) })
    })
  }

  /** Makes a collection and puts swings into it, or renames one. Answers whether it was done. */
  async saveCollection(id: string | null, name: string, keys: readonly string[]): Promise<boolean> {
    const saved = await attempt(() => this.desk.call('collection.save', { id, name }))
    if (!saved) return false
    if (keys.length > 0) await this.gather(saved.id, keys, true)
    return true
  }

  async removeCollection(id: string): Promise<void> {
    await attempt(async () => {
      const { name, keys } = await this.desk.call('collection.remove', { id })
      this.state.setState(({ chips }) => ({ chips: chips.filter((chip) => !(chip.kind === 'field' && chip.field === 'collection' && chip.text.toLowerCase() === name.toLowerCase())) }))
      this.#did({
        words: `Deleted the collection ${name}; its swings stay`,
        back: async () => {
          const again = await this.desk.call('collection.save', { id: null, name })
          if (keys.length > 0) await this.desk.call('collection.put', { id: again.id, keys, on: true })
        },
      })
    })
  }

  #did(step: Step): void {
    this.state.setState(({ undo }) => ({ undo: [...undo, step].slice(-mostUndo) }))
  }

  async undo(): Promise<void> {
    const step = this.state.getState().undo.at(-1)
    if (!step) return
    this.state.setState(({ undo }) => ({ undo: undo.slice(0, -1) }))
    if ((await attempt(async () => (await step.back(), true))) === true) tellDone(`Taken back: ${step.words}`)
  }
}

/** Chips of one kind of filter for one field stand beside each other; the same one does not come twice. */
const withTerms = (chips: readonly ShelfTerm[], terms: readonly ShelfTerm[]): readonly ShelfTerm[] =>
  [...chips, ...terms.filter((term, i) => !chips.some((one) => sameTerm(one, term)) && terms.findIndex((one) => sameTerm(one, term)) === i)]

/**
 * What a task's process has in its environment besides the desk's own. Each closed segment of a hand-off opens an encoder that
 * asks for a hundred megabytes and gives them back; by default the C library gives them back to the system at once, which
 * wipes them before it hands them out again. Here they are kept until the process ends, in one heap for all its threads.
 * Read by the GNU C library only (its manual, "Memory Allocation Tunables"); others pass over it.
 */
export const taskEnvironment: Readonly<Record<string, string>> = {
  MALLOC_MMAP_THRESHOLD_: String(2 ** 30),
  MALLOC_TRIM_THRESHOLD_: String(2 ** 30),
  MALLOC_ARENA_MAX: '1',
}

/** What a follower is told next: ids that changed, or that some may have been missed. */
export type Turn = { readonly ids: readonly string[]; readonly missed: boolean };

/** Ids that may wait for a slow reader; past that it is told to read everything again. */
const MOST_WAITING = 200;
/** Ids of one turn. */
const MOST_AT_ONCE = 10;

/**
 * One who follows changes: an async iterator that can be left while it waits. Changes of one thing that come before it was read
 * again count once. `read` gives the events of a turn, or null to end.
 */
export class Follower<T> implements AsyncIterableIterator<T> {
  private readonly waiting = new Set<string>();
  private missed = false;
  private over = false;
  private wake: (() => void) | undefined;
  private readonly made: T[] = [];

  constructor(
    private readonly read: (turn: Turn) => Promise<readonly T[] | null>,
    private readonly left: () => void,
  ) {}

  [Symbol.asyncIterator](): this {
    return this;
  }

  /** Something changed. */
  push(id: string): void {
    if (this.waiting.size < MOST_WAITING) this.waiting.add(id);
    else this.miss();
    this.wake?.();
  }

  /** Some changes may have been missed. */
  miss(): void {
    this.missed = true;
    this.waiting.clear();
    this.wake?.();
  }

  async next(): Promise<IteratorResult<T, undefined>> {
    while (!this.over) {
      const event = this.made.shift();
      if (event !== undefined) return { done: false, value: event };
      if (this.waiting.size === 0 && !this.missed) {
        await new Promise<void>((resolve) => (this.wake = resolve));
        continue;
      }
      const turn = { ids: [...this.waiting].slice(0, MOST_AT_ONCE), missed: this.missed };
      for (const id of turn.ids) this.waiting.delete(id);
      this.missed = false;
      const events = await this.read(turn);
      if (events === null) this.end();
      else this.made.push(...events);
    }
    return { done: true, value: undefined };
  }

  return(): Promise<IteratorResult<T, undefined>> {
    this.end();
    return Promise.resolve({ done: true, value: undefined });
  }

  private end(): void {
    if (this.over) return;
    this.over = true;
    this.left();
    this.wake?.();
  }
}

export type EggEvent = { readonly egg: number | null; readonly kind: string; readonly on: string };
export type Clutch = {
  readonly id: string;
  /** Who recorded it and has its eggs until they are handed on. */
  readonly keeper: string;
  readonly dam: string;
  readonly laid: string;
  readonly count: number;
  /** Who had an egg from its first hand-over on, by its number. */
  readonly had: Map<number, { holder: string; readonly from: string; to: string | null }[]>;
  /** In the order they were recorded. */
  readonly events: EggEvent[];
  /** The loan by whose terms its young are divided. */
  loan: string | null;
  /** With how many each record began, and with whom. */
  readonly young: {
    readonly animal: string;
    readonly egg: number | null;
    readonly count: number;
    readonly keeper: string;
  }[];
};

export const ENDS = ['infertile', 'failed', 'hatched'];

/** What became of an egg by its days: an end stands last on its day. `broken`: something else is told of it after its end. */
export function lifeOf(
  clutch: Clutch,
  egg: number,
  more: readonly EggEvent[] = [],
): { over: boolean; broken: boolean } {
  const own = [...clutch.events, ...more].filter((event) => event.egg === egg || event.egg === null);
  const ends = ({ kind }: EggEvent): boolean => ENDS.includes(kind);
  const days = own.map((event, i) => ({
    event,
    key: `${event.on} ${ends(event) ? 1 : 0} ${String(i).padStart(3, '0')}`,
  }));
  const inOrder = days.toSorted((a, b) => (a.key < b.key ? -1 : 1)).map(({ event }) => event);
  const end = inOrder.findIndex(ends);
  // What is told of the whole clutch passes over an egg that has ended.
  return { over: end >= 0, broken: end >= 0 && inOrder.slice(end + 1).some((event) => event.egg !== null) };
}

export const numbersOf = ({ count }: Clutch): number[] => Array.from({ length: count }, (_, i) => i + 1);

export function eggHolder(clutch: Clutch, egg: number): string {
  return clutch.had.get(egg)?.at(-1)?.holder ?? clutch.keeper;
}

/** The day from which whoever has the egg has it; the laying, while it was not handed on. */
export function eggSince(clutch: Clutch, egg: number): string {
  return clutch.had.get(egg)?.at(-1)?.from ?? clutch.laid;
}

/** Whether something may still come out of an egg: it has not ended, and it is not said last that nobody knows. */
export function isLiving(clutch: Clutch, egg: number): boolean {
  const last = clutch.events.findLast((event) => event.egg === egg || event.egg === null);
  return !lifeOf(clutch, egg).over && last?.kind !== 'fate_unknown';
}

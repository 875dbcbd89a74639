import { type Day, daysApart, type DaySpan, type Decision, decide, refuse } from '../../kernel/index.js';
import { type EggEvent, inOrder } from './egg.core.js';

/** An egg that something is recorded of, and who has it: null = somebody without an account. */
export type EggInHand = {
  readonly id: string;
  readonly number: number;
  readonly keeperId: string | null;
  /** The day from which they have it; null = since it was laid. */
  readonly since: Day | null;
  /** The transfer that carries it from one keeper to another just now. */
  readonly onItsWay: string | null;
  /** Nothing more happens to it: infertile, failed or hatched. */
  readonly over: boolean;
};

/** Whose eggs are meant. `numbers` null = all that were left, in a clutch that never was apart. */
export type MeantEggs = {
  readonly keeperId: string;
  readonly numbers: readonly number[] | null;
  readonly since: Day | null;
};

type ClutchInHand = { readonly id: string; readonly keeperId: string; readonly eggCount: number | null };

/** Numbers that a clutch can have by what is recorded; null when its eggs were not counted. */
export function numbersOf(clutch: Pick<ClutchInHand, 'eggCount'>, eggs: readonly EggInHand[]): number[] | null {
  if (clutch.eggCount === null) return null;
  const highest = Math.max(clutch.eggCount, ...eggs.map((egg) => egg.number));
  return Array.from({ length: highest }, (_, i) => i + 1);
}

/** Whether some eggs of the clutch are, or were, with another keeper than the one who recorded it. */
export function isApart(clutch: Pick<ClutchInHand, 'keeperId'>, eggs: readonly EggInHand[]): boolean {
  return eggs.some((egg) => egg.since !== null || egg.onItsWay !== null || egg.keeperId !== clutch.keeperId);
}

/**
 * Which eggs a keeper of the viewer (`mine`) means and has. Eggs follow whoever has them: after a receipt they are the
 * receiver's to write about. What ends an egg that is on its way waits until somebody has it, so that no hatchling is
 * recorded twice or by nobody. `numbers` null = all that are left: in a clutch that is apart, those of one keeper alone.
 */
export function decideMeantEggs(
  clutch: ClutchInHand,
  eggs: readonly EggInHand[],
  mine: readonly string[],
  meant: { readonly numbers: readonly number[] | null; readonly ending: boolean },
): Decision<MeantEggs> {
  const known = new Map(eggs.map((egg) => [egg.number, egg]));
  const keeperOf = (number: number): string | null => {
    const egg = known.get(number);
    return egg === undefined ? clutch.keeperId : egg.keeperId;
  };
  const sinceOf = (numbers: readonly number[]): Day | null =>
    numbers
      .flatMap((number) => known.get(number)?.since ?? [])
      .toSorted()
      .at(-1) ?? null;
  if (meant.numbers === null || meant.numbers.length === 0) {
    if (!isApart(clutch, eggs)) {
      return mine.includes(clutch.keeperId)
        ? decide({ keeperId: clutch.keeperId, numbers: null, since: null })
        : handedOn(clutch, []);
    }
    const all = numbersOf(clutch, eggs) ?? (mine.includes(clutch.keeperId) ? null : [...known.keys()]);
    if (all === null) return uncounted(clutch);
    const left = all.filter((number) => {
      const egg = known.get(number);
      return egg === undefined || (!egg.over && !(meant.ending && egg.onItsWay !== null));
    });
    const keeperId = [clutch.keeperId, ...mine].find(
      (id) => mine.includes(id) && left.some((number) => keeperOf(number) === id),
    );
    if (keeperId === undefined) return handedOn(clutch, []);
    const own = left.filter((number) => keeperOf(number) === keeperId);
    return decide({ keeperId, numbers: own, since: sinceOf(own) });
  }
  const elsewhere = meant.numbers.filter((number) => {
    const keeper = keeperOf(number);
    return keeper === null || !mine.includes(keeper);
  });
  if (elsewhere.length > 0) return handedOn(clutch, elsewhere);
  const keepers = new Set(meant.numbers.map(keeperOf));
  const [keeperId = null] = keepers;
  if (keepers.size > 1 || keeperId === null) {
    const message = 'These eggs are with different keepers you act for. Record those of each keeper apart.';
    return refuse('EGGS_OF_TWO_KEEPERS', message);
  }
  const travelling = meant.numbers.flatMap((number) => known.get(number)?.onItsWay ?? []);
  const [transferId] = travelling;
  if (meant.ending && transferId !== undefined) {
    const remedy =
      'The receiver says how it arrived and records then what became of it; if it never left, leave it out of the transfer first.';
    return refuse('EGG_ON_ITS_WAY', `An egg of these is on its way to another keeper. ${remedy}`, {
      blockers: [{ kind: 'transfer', id: transferId, remedy }],
    });
  }
  return decide({ keeperId, numbers: meant.numbers, since: sinceOf(meant.numbers) });
}

function handedOn(clutch: ClutchInHand, numbers: readonly number[]): Decision<never> {
  const which =
    numbers.length === 0 ? 'No egg of this clutch that is left is with you' : `Not with you: egg ${numbers.join(', ')}`;
  const remedy = 'Whoever has an egg records what becomes of it.';
  return refuse('EGG_HANDED_ON', `${which}. ${remedy}`, { blockers: [{ kind: 'clutch', id: clutch.id, remedy }] });
}

function uncounted(clutch: ClutchInHand): Decision<never> {
  const remedy = 'Name them by number, or record how many there are first.';
  return refuse('EGGS_UNCOUNTED', `How many eggs the clutch has is not recorded. ${remedy}`, {
    blockers: [{ kind: 'clutch', id: clutch.id, remedy }],
  });
}

/**
 * Can young without the number of their egg come out of a clutch that is apart? An individual names its egg: two keepers
 * would otherwise count the same one. A lot may do without while it has no more young than its keeper has eggs that are left
 * and that no other of the young names. `spent`: eggs used up by young that named none before, see `eggsSpent`.
 */
export function decideUnnumbered(
  clutch: ClutchInHand,
  eggs: readonly EggInHand[],
  keeperId: string,
  young: readonly { readonly eggNumber: number | null; readonly count: number }[],
  spent = 0,
): Decision<null> {
  const unnumbered = young.filter((each) => each.eggNumber === null);
  if (!isApart(clutch, eggs) || unnumbered.length === 0) return decide(null);
  const known = new Map(eggs.map((egg) => [egg.number, egg]));
  const left = (numbersOf(clutch, eggs) ?? [...known.keys()]).filter((number) => {
    const egg = known.get(number);
    if (young.some((each) => each.eggNumber === number)) return false;
    return egg === undefined ? keeperId === clutch.keeperId : egg.keeperId === keeperId && isLeft(egg);
  });
  const count = unnumbered.reduce((sum, each) => sum + each.count, 0);
  if (unnumbered.every((each) => each.count > 1) && count <= left.length - spent) return decide(null);
  return refuse(
    'HATCHLING_EGG_NOT_SAID',
    'Some eggs of this clutch are, or were, with another keeper. Say of each of the young which egg it came out of.',
  );
}

/**
 * How many eggs that are not said to have ended young without a number came out of. They came first out of those that are said to
 * have hatched and have no young.
 */
export function eggsSpent(unnumbered: number, hatchedWithoutYoung: number): number {
  return Math.max(0, unnumbered - hatchedWithoutYoung);
}

/** Whether something can still come out of an egg here: it has not ended, and is not on its way. */
function isLeft({ over, onItsWay }: EggInHand): boolean {
  return !over && onItsWay === null;
}

/** What the keeper of a clutch may not change once its eggs went on: that it was laid, and the numbers of eggs others have. */
export function decideClutchCorrection(
  clutch: ClutchInHand & { readonly originalId?: string },
  eggs: readonly EggInHand[],
  correction: { readonly takeBack: boolean; readonly eggCount?: number | null | undefined },
): Decision<null> {
  if (!isApart(clutch, eggs)) return decide(null);
  const away = eggs.filter((egg) => egg.keeperId !== clutch.keeperId || egg.onItsWay !== null);
  const highest = Math.max(0, ...away.map((egg) => egg.number));
  const { takeBack, eggCount } = correction;
  if (!takeBack && (eggCount === undefined || (eggCount !== null && eggCount >= highest))) return decide(null);
  const remedy = takeBack ? 'Correct its days instead.' : `Give a number of at least ${highest}.`;
  return refuse('CLUTCH_EGGS_HANDED_ON', `Eggs of this clutch are with another keeper, or on their way. ${remedy}`, {
    blockers: [{ kind: 'clutch', id: clutch.originalId ?? clutch.id, remedy }],
  });
}

/**
 * The eggs of a clutch that a keeper has in one place: null = all that are left, since none is known to be elsewhere or to have
 * ended; undefined = it cannot be told. `othersHere`: the place is that of eggs nothing is recorded of one by one. Of a clutch
 * that was not counted and has young, none of those is taken to be left.
 */
export function eggsLeft(
  clutch: Pick<ClutchInHand, 'keeperId' | 'eggCount'>,
  eggs: readonly (EggInHand & { readonly here: boolean })[],
  at: { readonly keeperId: string; readonly othersHere: boolean; readonly hatched: boolean },
): number[] | null | undefined {
  const away = eggs.filter((egg) => !egg.here || egg.over || egg.onItsWay !== null || egg.keeperId !== at.keeperId);
  const gone = new Set(away.map(({ number }) => number));
  const named = eggs.flatMap(({ number }) => (gone.has(number) ? [] : [number]));
  const all = numbersOf(clutch, eggs);
  if (!at.othersHere || at.keeperId !== clutch.keeperId || (all === null && at.hatched)) return named;
  return away.length === 0 ? null : all?.filter((number) => !gone.has(number));
}

/** How long an egg has been incubated, in days: at least, and at most where that is known. */
export type IncubatedDays = { readonly least: number; readonly most: number | null };

/** Days from the first incubation recorded of an egg until a day; null where none is recorded. */
export function incubatedDays(events: readonly EggEvent[], until: Day): IncubatedDays | null {
  const first = inOrder(events).find((event) => event.kind === 'incubated');
  if (first === undefined) return null;
  const end: DaySpan = { earliest: until, latest: until };
  const { fewest, most } = daysApart(first.when, end);
  return { least: Math.max(0, fewest ?? 0), most };
}

/** Who has an egg over time, oldest first; the first hand-over ends the days of the keeper of its clutch. */
export type EggPeriod = {
  readonly keeperId: string | null;
  readonly recordedAt: Date;
  readonly endRecorded: Date | null;
};

/**
 * Up to when a viewer reads what is recorded of an egg; null = as it is now. Whoever has it reads everything; whoever had it
 * reads what was recorded until it was handed on; others who are shown the clutch read until the first hand-over, or until
 * what was shared with them.
 */
export function eggReadsUntil(
  periods: readonly EggPeriod[],
  clutchKeeperId: string,
  mine: readonly string[],
  sharedAt: Date | null,
): Date | null {
  const now = periods.at(-1);
  const holder = now === undefined ? clutchKeeperId : now.keeperId;
  if (holder !== null && mine.includes(holder)) return null;
  const had = periods.findLast((period) => period.keeperId !== null && mine.includes(period.keeperId));
  if (had !== undefined) return had.endRecorded;
  if (!mine.includes(clutchKeeperId) && sharedAt !== null) return sharedAt;
  return periods[0]?.recordedAt ?? null;
}

import { type Day, type DaySpan, decide, type Decision, isBefore, isOnOrBefore, refuse } from '../../kernel/index.js';

/** What can be recorded of an egg. */
export const EGG_EVENTS = [
  'left_with_parents',
  'incubated',
  'moved',
  'top_marked',
  'candled',
  'infertile',
  'failed',
  'hatched',
  'fate_unknown',
] as const;
export type EggEventKind = (typeof EGG_EVENTS)[number];

export const EGG_STATES = ['laid', 'with_parents', 'incubated', 'infertile', 'failed', 'hatched', 'unknown'] as const;
export type EggState = (typeof EGG_STATES)[number];

export const CANDLINGS = ['fertile', 'clear', 'unsure'] as const;
export type Candling = (typeof CANDLINGS)[number];

/** Which state an event leads to from each state; null = it cannot follow. An egg whose fate was unknown can turn up again. */
export const EGG_TRANSITIONS: Readonly<Record<EggState, Readonly<Record<EggEventKind, EggState | null>>>> = {
  laid: going('laid'),
  with_parents: going('with_parents'),
  incubated: going('incubated'),
  unknown: going('laid'),
  infertile: over(),
  failed: over(),
  hatched: over(),
};

/** From a state in which the egg goes on; `stays` is what a move, a mark or a candling leaves it in. */
function going(stays: EggState): Record<EggEventKind, EggState> {
  return {
    left_with_parents: 'with_parents',
    incubated: 'incubated',
    moved: stays,
    top_marked: stays,
    candled: stays,
    infertile: 'infertile',
    failed: 'failed',
    hatched: 'hatched',
    fate_unknown: 'unknown',
  };
}

function over(): Record<EggEventKind, null> {
  return {
    left_with_parents: null,
    incubated: null,
    moved: null,
    top_marked: null,
    candled: null,
    infertile: null,
    failed: null,
    hatched: null,
    fate_unknown: null,
  };
}

const ENDS: readonly EggEventKind[] = ['infertile', 'failed', 'hatched'];

/** Whether nothing more can happen to an egg after this. */
export function isEnd(kind: EggEventKind): boolean {
  return ENDS.includes(kind);
}

/** Whether nothing more happens to an egg in this state. */
export function isOver(state: EggState): boolean {
  return EGG_TRANSITIONS[state].moved === null;
}

/** An event in force of one egg, or of all eggs of its clutch that were left. `recorded` orders what happened on one day. */
export type EggEvent = {
  readonly id: string;
  readonly kind: EggEventKind;
  readonly wholeClutch: boolean;
  readonly when: DaySpan;
  readonly recorded: number;
};

/**
 * Events in an order that agrees with their days and lets the egg live as long as they allow: what ends it stands as late
 * as it can have happened, everything else as early. So an order is refused only when no order of days would do.
 */
export function inOrder<E extends EggEvent>(events: readonly E[]): E[] {
  const ends = (event: E) => isEnd(event.kind);
  const key = (event: E): string =>
    ends(event) ? (event.when.latest ?? '9999-12-31') : (event.when.earliest ?? '0001-01-01');
  return events.toSorted((a, b) => {
    const [first, second] = [key(a), key(b)];
    if (first !== second) return first < second ? -1 : 1;
    return Number(ends(a)) - Number(ends(b)) || a.recorded - b.recorded || (a.id < b.id ? -1 : 1);
  });
}

/** The state of one egg after its events and those of its whole clutch, which pass over an egg that has ended. */
export function eggState(events: readonly EggEvent[]): EggState {
  return walk(events).state;
}

/** Where the egg is as far as its events say: the last that names a place. */
export function lastPlace<
  E extends EggEvent & { readonly enclosureId: string | null; readonly incubator: string | null },
>(events: readonly E[]): E | null {
  const placed = inOrder(events).filter((event) => event.enclosureId !== null || event.incubator !== null);
  return placed.at(-1) ?? null;
}

function walk(events: readonly EggEvent[]): { state: EggState; cannotFollow: EggEvent | null } {
  let state: EggState = 'laid';
  for (const event of inOrder(events)) {
    const next: EggState | null = EGG_TRANSITIONS[state][event.kind];
    if (next !== null) state = next;
    else if (!event.wholeClutch) return { state, cannotFollow: event };
  }
  return { state, cannotFollow: null };
}

/**
 * Can all of this have happened to one egg? Gives the state it leads to. Refuses days to come, events surely before the
 * laying, and what follows the end of an egg however the days are read.
 */
export function decideEggEvents(
  egg: { readonly number: number; readonly events: readonly EggEvent[]; readonly laid: DaySpan },
  today: Day,
): Decision<EggState> {
  for (const { when } of egg.events) {
    if (isOnOrBefore(when, { earliest: today, latest: today }) === 'no')
      return refuse('DAY_IN_FUTURE', 'This day is still to come.');
    if (isBefore(when, egg.laid) === 'yes')
      return refuse('EGG_EVENT_BEFORE_LAID', 'By these dates it happened before the egg was laid.');
  }
  const { state, cannotFollow } = walk(egg.events);
  if (cannotFollow === null) return decide(state);
  return refuse(
    'EGG_EVENT_OUT_OF_ORDER',
    `Egg ${egg.number} had ended (${state}) before "${cannotFollow.kind}" can have happened.`,
    {
      blockers: [
        { kind: 'egg event', id: cannotFollow.id, remedy: 'Correct the event that is wrong, or give other days.' },
      ],
    },
  );
}

/** Young that can come out of one egg: twins are real, three are a mistake. Common practice, no published source. */
export const MAX_YOUNG_AN_EGG = 2;

/** Can so many young have come out of one egg? Two warn. */
export function decideYoungOfEgg(number: number, young: number): Decision<{ twins: boolean }> {
  if (young > MAX_YOUNG_AN_EGG)
    return refuse(
      'EGG_THREE_YOUNG',
      `Egg ${number} would have ${young} young. Twins happen; check the number of the egg.`,
    );
  return decide({ twins: young === MAX_YOUNG_AN_EGG });
}

import { addDays, type Day } from '../../kernel/index.js';

/** Which newcomer starts the days of an animal anew: one of its order, of its class, or any. */
export const RESTART_SCOPES = ['order', 'class', 'any'] as const;
export type RestartScope = (typeof RESTART_SCOPES)[number];

/** One stay of an animal in a group, [enteredOn, leftOn). */
export type QuarantineEntry = {
  readonly animalId: string;
  readonly orderName: string;
  readonly className: string;
  readonly enteredOn: Day;
  /** When it was released, handed over or died; null while it is there. */
  readonly leftOn: Day | null;
};

/** Animals kept apart together, and for how long. */
export type Quarantine = {
  readonly days: number;
  readonly restartScope: RestartScope;
  /** Set when the keeper ended it before the days were over. */
  readonly released: { readonly on: Day; readonly reason: string } | null;
  readonly entries: readonly QuarantineEntry[];
};

/**
 * Where an animal or a group stands on a day. `until` and `ended.on` are the first day out of quarantine. `left`: it died
 * or was handed over before the days were over.
 */
export type QuarantineState =
  | { readonly kind: 'not_yet' }
  | { readonly kind: 'in_quarantine'; readonly until: Day }
  | { readonly kind: 'ended'; readonly on: Day }
  | { readonly kind: 'released_early'; readonly on: Day; readonly reason: string }
  | { readonly kind: 'left'; readonly on: Day };

/** A day on which the days of some animals are over. */
export type QuarantineEnd = { readonly on: Day; readonly animalIds: readonly string[] };

/** Animals with the same key share one clock within their group. */
function clockKey(entry: QuarantineEntry, scope: RestartScope): string {
  return scope === 'order' ? entry.orderName : scope === 'class' ? entry.className : '';
}

/** Animals that were together in the group on at least one day before `entry` left, as far as known on `day`. */
export function restarts(quarantine: Quarantine, entry: QuarantineEntry, other: QuarantineEntry, day: Day): boolean {
  if (clockKey(other, quarantine.restartScope) !== clockKey(entry, quarantine.restartScope)) return false;
  return other.enteredOn <= day && (entry.leftOn === null || other.enteredOn < entry.leftOn);
}

/**
 * The first day out of quarantine for one entry, as known on `day`: `days` after the latest entry that restarts its clock,
 * the day of entry counting as day 0. A newcomer who has left again restarted the clock all the same: it was there.
 */
export function endOf(quarantine: Quarantine, entry: QuarantineEntry, day: Day): Day {
  const latest = quarantine.entries
    .filter((other) => restarts(quarantine, entry, other, day))
    .reduce((last, other) => (other.enteredOn > last ? other.enteredOn : last), entry.enteredOn);
  return addDays(latest, quarantine.days);
}

function stateOfEntry(quarantine: Quarantine, entry: QuarantineEntry, day: Day): QuarantineState {
  if (entry.enteredOn > day) return { kind: 'not_yet' };
  const end = endOf(quarantine, entry, day);
  const { leftOn } = entry;
  if (leftOn === null || leftOn > day)
    return end > day ? { kind: 'in_quarantine', until: end } : { kind: 'ended', on: end };
  if (end <= leftOn) return { kind: 'ended', on: end };
  const { released } = quarantine;
  return released?.on === leftOn ? { kind: 'released_early', ...released } : { kind: 'left', on: leftOn };
}

/** Where an animal stands on a day; its latest stay in the group decides. */
export function animalState(quarantine: Quarantine, animalId: string, day: Day): QuarantineState {
  const [latest] = quarantine.entries
    .filter((entry) => entry.animalId === animalId && entry.enteredOn <= day)
    .sort((a, b) => (a.enteredOn < b.enteredOn ? 1 : -1));
  return latest === undefined ? { kind: 'not_yet' } : stateOfEntry(quarantine, latest, day);
}

/**
 * Where a group stands on a day: in quarantine as long as one of its animals is, until the last of them is out. Animals
 * outside one another's scope run on clocks of their own.
 */
export function groupState(quarantine: Quarantine, day: Day): QuarantineState {
  const states = quarantine.entries.map((entry) => stateOfEntry(quarantine, entry, day));
  const lastOf = <K extends QuarantineState['kind']>(kind: K, dayOf: (state: StateOf<K>) => Day) =>
    states
      .filter((state): state is StateOf<K> => state.kind === kind)
      .reduce<StateOf<K> | null>((last, state) => (last === null || dayOf(state) > dayOf(last) ? state : last), null);
  return (
    lastOf('in_quarantine', (state) => state.until) ??
    lastOf('released_early', (state) => state.on) ??
    lastOf('ended', (state) => state.on) ??
    lastOf('left', (state) => state.on) ?? { kind: 'not_yet' }
  );
}

type StateOf<K extends QuarantineState['kind']> = Extract<QuarantineState, { kind: K }>;

/** The first day on which every animal that was in the group is or was out of quarantine by its days, as known on `day`. */
export function groupEnd(quarantine: Quarantine, day: Day): Day | null {
  return quarantine.entries.reduce<Day | null>((last, entry) => {
    const end = endOf(quarantine, entry, day);
    return last === null || end > last ? end : last;
  }, null);
}

/**
 * The days on or before `day` on which the quarantine of animals still there was over, earliest first, each with its
 * animals. Of those that have left, by a release or otherwise, nobody needs to be told, however late it is asked.
 */
export function endsReached(quarantine: Quarantine, day: Day): QuarantineEnd[] {
  const ends = new Map<Day, string[]>();
  for (const entry of quarantine.entries) {
    if (entry.leftOn !== null) continue;
    const state = stateOfEntry(quarantine, entry, day);
    if (state.kind === 'ended') ends.set(state.on, [...(ends.get(state.on) ?? []), entry.animalId]);
  }
  return [...ends].sort(([a], [b]) => (a < b ? -1 : 1)).map(([on, animalIds]) => ({ on, animalIds: animalIds.sort() }));
}

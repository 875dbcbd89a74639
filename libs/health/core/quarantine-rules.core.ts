import { type Blocker, type Day, decide, type Decision, type FieldProblem, refuse } from '../../kernel/index.js';
import { endOf, groupState, type Quarantine } from './quarantine.core.js';

/** Most animals a group can hold: more are not one closed group any more. */
export const MAX_GROUP = 200;

/** The quarantine rule of a taxon. */
export type TaxonRule = { readonly scientificName: string; readonly days: number; readonly source: string };

/**
 * The rule for animals kept apart together: the longest among them holds for all. Between equal rules the first taxon in
 * alphabetical order is named. Null for no taxon.
 */
export function longestRule(rules: readonly TaxonRule[]): { days: number; source: string } | null {
  const [longest] = [...rules].sort((a, b) => b.days - a.days || (a.scientificName < b.scientificName ? -1 : 1));
  return longest === undefined ? null : { days: longest.days, source: `${longest.scientificName}: ${longest.source}` };
}

/** A stay of a newcomer in some group: while it is open, `endsOn` is the day it is over. */
export type EarlierStay = {
  readonly entryId: string;
  readonly enteredOn: Day;
  readonly leftOn: Day | null;
  readonly endsOn: Day;
};

/** What decides whether an animal can enter, read under lock. */
export type Newcomer = {
  readonly animalId: string;
  readonly alive: boolean;
  /** Since when the keeper has it. */
  readonly heldSince: Day;
  readonly stays: readonly EarlierStay[];
};

/** An open stay that was over before: it is closed on the day it ended, so that the animal can enter elsewhere. */
export type StayOver = { readonly entryId: string; readonly leftOn: Day };

/**
 * Animals enter a group (null = a new one) on a day. Refuses DAY_IN_FUTURE, CUSTODY_DAY_TOO_EARLY before the keeper had
 * them, ANIMAL_NOT_ALIVE, ALREADY_IN_QUARANTINE; for a group also QUARANTINE_OVER and QUARANTINE_FULL.
 */
export function enterQuarantine(
  group: Quarantine | null,
  newcomers: readonly Newcomer[],
  enteredOn: Day,
  today: Day,
): Decision<StayOver[]> {
  if (enteredOn > today) {
    const message = `${enteredOn} is still to come.`;
    return refuse('DAY_IN_FUTURE', message, {
      fields: fieldOf('enteredOn', message, `Write ${today} or an earlier day.`),
    });
  }
  const closed = group === null ? null : groupProblem(group, newcomers.length, enteredOn, today);
  if (closed !== null) return closed;
  const blocked = (refused: readonly Newcomer[], remedy: string): { blockers: Blocker[] } => ({
    blockers: refused.map(({ animalId }) => ({ kind: 'animal', id: animalId, remedy })),
  });

  const gone = newcomers.filter(({ alive }) => !alive);
  if (gone.length > 0)
    return refuse(
      'ANIMAL_NOT_ALIVE',
      'Only living animals that are there can be kept apart.',
      blocked(gone, 'Leave it out.'),
    );
  const early = newcomers.filter(({ heldSince }) => enteredOn < heldSince);
  if (early.length > 0) {
    const since = early.reduce((latest, { heldSince }) => (heldSince > latest ? heldSince : latest), enteredOn);
    const message = `The keeper has had these animals only since ${since}.`;
    return refuse('CUSTODY_DAY_TOO_EARLY', message, blocked(early, `Write ${since} or a later day.`));
  }
  const elsewhere = newcomers.filter(({ stays }) => stays.some((stay) => standsInTheWay(stay, enteredOn)));
  if (elsewhere.length > 0) {
    const message = 'An animal is in one quarantine group at a time.';
    return refuse('ALREADY_IN_QUARANTINE', message, blocked(elsewhere, 'Release the group it is in first.'));
  }
  const over = newcomers.flatMap(({ stays }) => stays.filter(({ leftOn }) => leftOn === null));
  return decide(over.map(({ entryId, endsOn }) => ({ entryId, leftOn: endsOn })));
}

function standsInTheWay(stay: EarlierStay, enteredOn: Day): boolean {
  return enteredOn < (stay.leftOn ?? stay.endsOn);
}

function groupProblem(group: Quarantine, count: number, enteredOn: Day, today: Day): Decision<never> | null {
  const there = group.entries.filter(({ leftOn }) => leftOn === null);
  const state = groupState(group, enteredOn);
  const over = there.length === 0 || (state.kind !== 'in_quarantine' && state.kind !== 'not_yet');
  if (over) {
    const message =
      there.length === 0
        ? 'Nobody is in this quarantine group any more.'
        : `The quarantine of this group was over before ${enteredOn === today ? 'today' : enteredOn}.`;
    return refuse('QUARANTINE_OVER', message, {
      fields: fieldOf('groupId', message, 'Open a new quarantine for the newcomers.'),
    });
  }
  if (group.entries.length + count <= MAX_GROUP) return null;
  const message = `A quarantine group holds at most ${MAX_GROUP} entries.`;
  return refuse('QUARANTINE_FULL', message, { fields: fieldOf('animalIds', message, 'Open a second group.') });
}

/** What a release amounts to. */
export type Release = { readonly early: boolean };

/**
 * The keeper lets the group out on a day. Before every animal's days are over a reason is needed. Refuses DAY_IN_FUTURE,
 * QUARANTINE_OVER when nobody is there, RELEASE_BEFORE_ENTRY, RELEASE_REASON_NEEDED.
 */
export function releaseQuarantine(group: Quarantine, on: Day, reason: string | null, today: Day): Decision<Release> {
  if (on > today) {
    const message = `${on} is still to come.`;
    return refuse('DAY_IN_FUTURE', message, { fields: fieldOf('on', message, `Write ${today} or an earlier day.`) });
  }
  const there = group.entries.filter(({ leftOn }) => leftOn === null);
  if (there.length === 0) {
    const message = 'Nobody is in this quarantine group any more.';
    return refuse('QUARANTINE_OVER', message, { fields: fieldOf('groupId', message, 'Nothing is left to do.') });
  }
  const lastEntry = group.entries.reduce((last, { enteredOn }) => (enteredOn > last ? enteredOn : last), on);
  if (lastEntry > on) {
    const message = `An animal entered the group as late as ${lastEntry}.`;
    return refuse('RELEASE_BEFORE_ENTRY', message, {
      fields: fieldOf('on', message, `Write ${lastEntry} or a later day.`),
    });
  }
  const end = there.map((entry) => endOf(group, entry, on)).reduce((last, each) => (each > last ? each : last), on);
  const early = end > on;
  if (early && reason === null) {
    const message = `The quarantine lasts until ${end}: an earlier release needs its reason.`;
    return refuse('RELEASE_REASON_NEEDED', message, {
      fields: fieldOf('reason', message, `Write what your veterinarian decided, or release on ${end} or later.`),
    });
  }
  return decide({ early });
}

function fieldOf(name: string, message: string, remedy: string): FieldProblem[] {
  return [{ path: `input.${name}`, message, remedy }];
}

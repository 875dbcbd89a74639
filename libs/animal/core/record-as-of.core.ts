import { type Answer, type Day, exactDay, isOnOrBefore } from '../../kernel/index.js';
import { type FactVersion, RECORDED_ANEW } from './correction.core.js';
import { type Fate, inForce, isSighting, project, type Projection } from './fact.core.js';
import { type Mark } from './mark.core.js';

/** What was believed at a moment about an animal on a day. */
export type RecordAsOf<F extends FactVersion = FactVersion> = Projection & {
  /** Whether it had been born by that day; `possible` where the dates do not decide. Yes where no day is asked for. */
  readonly born: Answer;
  /** A fate that it may have met by then. */
  readonly fatePossibly: Fate | null;
  /** Measurements, sightings and notes that surely or possibly happened by that day, in the order they were recorded. */
  readonly events: readonly F[];
};

/**
 * What was believed at a moment (`at`; null = now) about a day (`on`; null = all of its life).
 *
 * Birth, sex, origin and descent hold for life, so they do not depend on the day. A name and a fate hold from their day on,
 * until a later one that nobody gave a reason for: a reason says that the earlier was wrong, none that things went on. What
 * surely happened after the day is left out; what possibly did is in, but never decides a fate.
 */
export function recordAsOf<F extends FactVersion>(facts: readonly F[], at: Date | null, on: Day | null): RecordAsOf<F> {
  const known = inForce(facts, at) as F[];
  const now = project(facts, at);
  const events = known.filter(
    (fact) => (isSighting(fact) || fact.kind === 'temperature' || fact.kind === 'note') && by(fact, on) !== 'no',
  );
  if (on === null) return { ...now, born: 'yes', fatePossibly: null, events };
  const names = lasting(facts, at, 'name');
  const fates = lasting(facts, at, 'fate');
  const name = names.findLast((fact) => by(fact, on) === 'yes') ?? names.find((fact) => fact.when === null);
  const fate = fates.findLast((fact) => by(fact, on) === 'yes');
  const perhaps = fates.findLast((fact) => by(fact, on) === 'possible');
  const surely = fate?.kind === 'fate' ? fate.body.fate : 'alive';
  const sightings = events.flatMap((fact) =>
    isSighting(fact) && fact.when?.earliest && fact.when.earliest <= on ? [fact.when.earliest] : [],
  );
  return {
    ...now,
    name: name?.kind === 'name' ? name.body.name : null,
    fate: surely,
    fateWhen: fate?.when ?? null,
    fatePossibly: perhaps?.kind === 'fate' && perhaps.body.fate !== surely ? perhaps.body.fate : null,
    lastSeenOn: sightings.toSorted().at(-1) ?? null,
    born: now.birth === null ? 'possible' : isOnOrBefore(now.birth, exactDay(on)),
    events,
  };
}

/** The marks believed at a moment to be on the animal on a day: none that surely came later or had surely gone. */
export function marksAsOf(marks: readonly Mark[], at: Date | null, on: Day | null): Mark[] {
  const known = marks.filter(
    (mark) =>
      (at === null || mark.recordedAt <= at) && (mark.supersededAt === null || (at !== null && mark.supersededAt > at)),
  );
  if (on === null) return known.filter((mark) => mark.ended === null);
  const day = exactDay(on);
  return known.filter(
    (mark) =>
      (mark.when === null || isOnOrBefore(mark.when, day) !== 'no') &&
      (mark.ended === null || isOnOrBefore(mark.ended.when, day) !== 'yes'),
  );
}

/** Statements of a kind that were in force, or that one without a reason had followed; in the order of their days. */
function lasting<F extends FactVersion>(facts: readonly F[], at: Date | null, kind: 'name' | 'fate'): F[] {
  const known = facts.filter((fact) => fact.kind === kind && (at === null || fact.recordedAt <= at));
  return known
    .filter((fact) => fact.supersededAt === null || (at !== null && fact.supersededAt > at) || wasFollowed(fact))
    .toSorted(
      (a, b) =>
        (a.when?.latest ?? '').localeCompare(b.when?.latest ?? '') || a.recordedAt.getTime() - b.recordedAt.getTime(),
    );
}

function wasFollowed(fact: FactVersion): boolean {
  return fact.supersededBy !== null && fact.reason === RECORDED_ANEW;
}

/** Had it happened by a day? A day that is not known leaves it open. */
function by(fact: FactVersion, on: Day | null): Answer {
  if (on === null) return 'yes';
  return fact.when === null ? 'possible' : isOnOrBefore(fact.when, exactDay(on));
}

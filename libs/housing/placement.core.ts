import { type Day, decide, type Decision, refuse } from '../kernel/index.js';

/** What decides whether an animal can be placed: since when its keeper has it, and the stay it is in. Read after the lock. */
export type PlacementFacts = {
  readonly animalId: string;
  /** Null = the keeper does not have it. */
  readonly heldFrom: Day | null;
  readonly stay: { readonly from: Day; readonly ownEnclosure: boolean } | null;
};

/**
 * The day on which the present stay ends when the animal moves on `from`: the same day; a stay with an earlier keeper ended
 * when the animal left them. Null = it was in no enclosure. Refuses days to come, days before the keeper had the animal, and
 * days before the present stay began.
 */
export function decidePlacement(facts: PlacementFacts, from: Day, today: Day): Decision<{ endsOn: Day | null }> {
  const blockers = [{ kind: 'animal', id: facts.animalId, remedy: 'Choose a later day, or leave this animal out.' }];
  if (from > today) return refuse('DAY_IN_FUTURE', `${from} is still to come.`);
  if (facts.heldFrom === null || from < facts.heldFrom)
    return refuse('PLACED_BEFORE_HELD', 'By the records this keeper did not yet have the animal on that day.', {
      blockers,
    });
  if (facts.stay === null) return decide({ endsOn: null });
  if (!facts.stay.ownEnclosure) {
    const left = facts.heldFrom;
    return decide({ endsOn: left < facts.stay.from ? facts.stay.from : left });
  }
  if (from < facts.stay.from)
    return refuse('PLACEMENT_DAY_TOO_EARLY', `The animal has been where it is since ${facts.stay.from}.`, { blockers });
  return decide({ endsOn: from });
}

import { type Day, type DaySpan, decide, type Decision, isBefore, isOnOrBefore, refuse } from '../../kernel/index.js';

export const KNOWN_ANSWERS = ['yes', 'no', 'unknown'] as const;
export type KnownAnswer = (typeof KNOWN_ANSWERS)[number];

/** What a decision needs to know of an animal, read after the lock. */
export type BreedingAnimal = {
  readonly id: string;
  readonly kind: 'individual' | 'lot';
  readonly taxonId: string;
  readonly sex: 'male' | 'female' | 'unknown';
  readonly birth: DaySpan;
};

const ANY: DaySpan = { earliest: null, latest: null };

function blockedBy(id: string, remedy = 'Choose another animal, or correct its record.') {
  return { blockers: [{ kind: 'animal', id, remedy }] };
}

/** Can it have happened on these days? Refuses only what is certain: to come, or before one of the animals was born. */
function decideHappened(when: DaySpan | null, animals: readonly BreedingAnimal[], today: Day): Decision<null> {
  if (isOnOrBefore(when ?? ANY, { earliest: today, latest: today }) === 'no')
    return refuse('DAY_IN_FUTURE', 'This day is still to come.');
  const unborn = animals.find((animal) => isBefore(when ?? ANY, animal.birth) === 'yes');
  return unborn === undefined
    ? decide(null)
    : refuse('FACT_BEFORE_BIRTH', 'By the recorded dates the animal was not yet born then.', blockedBy(unborn.id));
}

/** Can this animal be the dam? One animal, not recorded as male. */
function decideDam(dam: BreedingAnimal): Decision<null> {
  if (dam.kind === 'lot')
    return refuse('BREEDING_PARENT_IS_LOT', 'A parent is one animal; this record is a lot.', blockedBy(dam.id));
  if (dam.sex === 'male') {
    return refuse(
      'BREEDING_SEX_CONFLICT',
      'The dam is recorded as male. Correct its sex first if that is not so.',
      blockedBy(dam.id),
    );
  }
  return decide(null);
}

/** Can these two have mated on these days? The sire may be unknown. */
export function decideMating(
  mating: { dam: BreedingAnimal; sire: BreedingAnimal | null; when: DaySpan | null },
  today: Day,
): Decision<null> {
  const { dam, sire, when } = mating;
  const possible = decideDam(dam);
  if (!possible.ok) return possible;
  if (sire !== null) {
    if (sire.id === dam.id)
      return refuse('BREEDING_SAME_ANIMAL', 'An animal does not mate with itself.', blockedBy(dam.id));
    if (sire.kind === 'lot')
      return refuse('BREEDING_PARENT_IS_LOT', 'A parent is one animal; this record is a lot.', blockedBy(sire.id));
    if (sire.sex === 'female') {
      return refuse(
        'BREEDING_SEX_CONFLICT',
        'The sire is recorded as female. Correct its sex first if that is not so.',
        blockedBy(sire.id),
      );
    }
  }
  return decideHappened(when, sire === null ? [dam] : [dam, sire], today);
}

/**
 * Can one of these have laid, or borne young, on these days, and the clutch have been found on that one? A dam that is
 * recorded as male is no refusal: who laid is the better witness of its sex; see `layingMaleWarnings`.
 */
export function decideClutch(
  clutch: { dams: readonly BreedingAnimal[]; laid: DaySpan | null; foundOn: Day | null },
  today: Day,
): Decision<null> {
  const { dams, laid, foundOn } = clutch;
  const lot = dams.find((dam) => dam.kind === 'lot');
  if (lot !== undefined)
    return refuse('BREEDING_PARENT_IS_LOT', 'A parent is one animal; this record is a lot.', blockedBy(lot.id));
  const other = dams.find((dam) => dam.taxonId !== dams[0]?.taxonId);
  if (other !== undefined)
    return refuse('BREEDING_OTHER_TAXON', 'The possible dams are recorded as different taxa.', blockedBy(other.id));
  if (foundOn !== null && foundOn > today) return refuse('DAY_IN_FUTURE', `${foundOn} is still to come.`);
  if (foundOn !== null && isBefore({ earliest: foundOn, latest: foundOn }, laid ?? ANY) === 'yes')
    return refuse('CLUTCH_FOUND_BEFORE_LAID', 'By these dates the clutch was found before it was laid.');
  return decideHappened(laid, dams, today);
}

/** Can this animal or lot have come out of a clutch of one of these on these days? */
export function decideHatching(
  hatching: { young: BreedingAnimal; when: DaySpan | null; dams: readonly BreedingAnimal[]; laid: DaySpan | null },
  today: Day,
): Decision<null> {
  const { young, when, dams, laid } = hatching;
  if (dams.some((dam) => dam.id === young.id))
    return refuse('BREEDING_SAME_ANIMAL', 'An animal does not hatch from its own clutch.', blockedBy(young.id));
  if (dams.some((dam) => dam.taxonId !== young.taxonId))
    return refuse('BREEDING_OTHER_TAXON', 'Dam and young are recorded as different taxa.', blockedBy(young.id));
  return decideHatchDay({ when, laid }, today);
}

/** Can young have come out of this clutch on these days? Refuses only what is certain. */
export function decideHatchDay(hatch: { when: DaySpan | null; laid: DaySpan | null }, today: Day): Decision<null> {
  if (isBefore(hatch.when ?? ANY, hatch.laid ?? ANY) === 'yes')
    return refuse('HATCHED_BEFORE_LAID', 'By these dates it hatched before the clutch was laid.');
  return decideHappened(hatch.when, [], today);
}

import { type DaySpan, decide, type Decision, isBefore, refuse } from '../../kernel/index.js';
import { type Fact, type FactBody, type When } from './fact.core.js';

/** A parent (candidates too) or a young of an animal by the claims in force. */
export type KinOfFact = {
  readonly id: string;
  readonly is: 'parent' | 'child';
  /** Of a parent what it is to the animal; of a young what the animal is to it. */
  readonly role: 'sire' | 'dam';
  readonly birth: DaySpan;
};

/** Kin with whether the viewer may know of it; what stands in the way and is not shown counts, but is not named. */
export type ShownKin = KinOfFact & { readonly shown: boolean };

/** Most records named in one refusal. */
const NAMED = 20;

/**
 * Can an animal have been born then, by everything else that is recorded? Refuses only what is certain: facts in force from
 * before, parents not yet born, young born before. Each that stands in the way is named.
 */
export function decideBirth(birth: When, facts: readonly Fact[], kin: readonly ShownKin[]): Decision<null> {
  const before = facts.filter(
    (fact) =>
      fact.kind !== 'birth' && fact.supersededAt === null && fact.when !== null && isBefore(fact.when, birth) === 'yes',
  );
  const clash = kin.filter(
    (each) => (each.is === 'parent' ? isBefore(each.birth, birth) : isBefore(birth, each.birth)) === 'no',
  );
  if (before.length === 0 && clash.length === 0) return decide(null);
  const hidden = clash.some(({ shown }) => !shown) ? ' Not all of these records are shown to you.' : '';
  return refuse('BIRTH_AGAINST_RECORDS', `By other records the animal cannot have been born then.${hidden}`, {
    blockers: [
      ...before.map(({ id }) => ({
        kind: 'fact',
        id,
        remedy: 'This is recorded of an earlier day. Correct it first, or the birth.',
      })),
      ...clash
        .filter(({ shown }) => shown)
        .map(({ id, is }) => ({
          kind: 'animal',
          id,
          remedy:
            is === 'parent'
              ? 'This parent was not yet born then. Correct its birth or the parentage first.'
              : 'This young was born before. Correct its birth or its parentage first.',
        })),
    ].slice(0, NAMED),
  });
}

/** Whether the finding of origin rests on a fact, of this animal or of what descends from it. */
export function bearsOnOrigin(fact: Pick<FactBody, 'kind'>): boolean {
  return ['birth', 'origin', 'acquisition', 'sex'].includes(fact.kind);
}

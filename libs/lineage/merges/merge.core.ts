import { type DaySpan, decide, type Decision, overlaps, refuse } from '../../kernel/index.js';
import { type Candidate, type ClaimWarning } from '../claims/claim.core.js';
import { type ParentRole } from '../claims/parentage.core.js';

/** What is said of a record's parent: its candidates, none of them where there was no sire. */
export type ClaimOf = { readonly role: ParentRole; readonly candidates: readonly Candidate[] };

/** A record that is to be merged, or to be kept. */
export type MergeSide = {
  readonly id: string;
  readonly kind: 'individual' | 'lot';
  readonly taxonId: string;
  readonly lineId: string | null;
  readonly sex: 'male' | 'female' | 'unknown';
  readonly birth: DaySpan;
  readonly claims: readonly ClaimOf[];
  /** Whether other records were merged into this one. */
  readonly hasMerged: boolean;
  /** The open transfer it is in, the quarantine group it is in, and the enclosure it stays in. */
  readonly openTransferId: string | null;
  readonly quarantineGroupId: string | null;
  readonly enclosureId: string | null;
};

/** How the two stand to each other in the pedigree, other records merged before counted as one animal. */
export type MergeKinship = {
  /** One descends from the other. */
  readonly inLine: boolean;
  /** An animal of which one may be the sire and the other the dam. */
  readonly commonChildId: string | null;
};

const blocker = (id: string, remedy: string, kind = 'animal') => ({ kind, id, remedy });

/**
 * Can the two be records of one animal? Refuses only what is certain to contradict that, and what would leave the records
 * in two states at once. Gives what the records leave open as warnings.
 */
export function decideMerge(keep: MergeSide, merge: MergeSide, kinship: MergeKinship): Decision<ClaimWarning[]> {
  if (keep.id === merge.id) return refuse('MERGE_SAME_RECORD', 'These are one record already.');
  const lot = [keep, merge].find(({ kind }) => kind === 'lot');
  if (lot !== undefined)
    return refuse('MERGE_LOT', 'Only records of single animals are merged; this one is a lot.', {
      blockers: [blocker(lot.id, 'Leave lots apart.')],
    });
  if (keep.taxonId !== merge.taxonId)
    return refuse('MERGE_OTHER_TAXON', 'The two are recorded as different taxa.', {
      blockers: [blocker(merge.id, 'Merge records of one taxon only.')],
    });
  if (merge.hasMerged)
    return refuse('MERGE_CHAIN', 'Other records were merged into the one you would merge.', {
      blockers: [blocker(merge.id, 'Keep this one instead, or undo those merges first.')],
    });
  const busy = decideIdle(keep, merge);
  if (!busy.ok) return busy;
  if (kinship.inLine)
    return refuse('MERGE_ANCESTOR', 'One of the two descends from the other.', {
      blockers: [blocker(merge.id, 'Correct the wrong parent first.')],
    });
  if (kinship.commonChildId !== null)
    return refuse('MERGE_TWO_PARENTS', 'The two are recorded as sire and dam of one animal.', {
      blockers: [blocker(kinship.commonChildId, 'Correct its parents first.')],
    });
  return decideOneAnimal(keep, merge);
}

function decideIdle(keep: MergeSide, merge: MergeSide): Decision<null> {
  for (const { id, openTransferId } of [keep, merge]) {
    if (openTransferId !== null)
      return refuse('TRANSFER_OPEN', 'One of the two is in an open transfer.', {
        blockers: [blocker(openTransferId, 'Finish or withdraw it first.', 'transfer'), blocker(id, 'Merge it then.')],
      });
  }
  if (merge.quarantineGroupId !== null && merge.quarantineGroupId !== keep.quarantineGroupId)
    return refuse('MERGE_IN_QUARANTINE', 'The record you would merge is in a quarantine that the other is not in.', {
      blockers: [blocker(merge.quarantineGroupId, 'Let it leave, or let the other join.', 'quarantine_group')],
    });
  if (merge.enclosureId !== null && keep.enclosureId !== null && merge.enclosureId !== keep.enclosureId)
    return refuse('MERGE_TWO_PLACES', 'The two stay in different enclosures.', {
      blockers: [blocker(merge.id, 'Place it with the other one first.')],
    });
  return decide(null);
}

function decideOneAnimal(keep: MergeSide, merge: MergeSide): Decision<ClaimWarning[]> {
  const warnings: ClaimWarning[] = [];
  const warn = (code: Uppercase<string>, message: string): void => {
    warnings.push({ code, message, source: null, parentId: null });
  };
  const correct = { blockers: [blocker(merge.id, 'Correct the record that is wrong first.')] };
  if (keep.sex !== merge.sex) {
    if (keep.sex !== 'unknown' && merge.sex !== 'unknown')
      return refuse('MERGE_SEX_CONFLICT', `One is recorded as ${keep.sex}, the other as ${merge.sex}.`, correct);
    warn('MERGE_SEX_OPEN', 'Only one of the two records gives a sex.');
  }
  const sameBirth = overlaps(keep.birth, merge.birth);
  if (sameBirth === 'no')
    return refuse('MERGE_BIRTH_CONFLICT', 'By their records the two were born on different days.', correct);
  if (sameBirth === 'possible')
    warn('MERGE_BIRTH_OPEN', 'The records leave open whether the two were born on one day.');
  if (keep.lineId !== merge.lineId)
    warn('MERGE_LINES_DIFFER', 'The records name different lines; that of the kept one stands.');
  for (const claim of merge.claims) {
    const kept = keep.claims.find(({ role }) => role === claim.role);
    if (kept === undefined || sameCandidates(kept.candidates, claim.candidates)) continue;
    return refuse('MERGE_PARENTS_CONFLICT', `The two records name different animals as the ${claim.role}.`, correct);
  }
  return decide(warnings);
}

function sameCandidates(a: readonly Candidate[], b: readonly Candidate[]): boolean {
  const told = (list: readonly Candidate[]): string =>
    JSON.stringify(list.map(({ parentId, probability }) => [parentId, probability]).toSorted());
  return told(a) === told(b);
}

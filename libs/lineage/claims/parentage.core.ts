import { type DaySpan, decide, type Decision, isBefore, refuse } from '../../kernel/index.js';

/** Which parent a claim is about. */
export type ParentRole = 'sire' | 'dam';

/** What a claim rests on, in the order of what it is worth beside records only. */
export const PARENTAGE_BASES = ['observed', 'shared_enclosure', 'declared', 'genetic_test'] as const;
export type ParentageBasis = (typeof PARENTAGE_BASES)[number];

/** What a decision about a parent needs to know of an animal. */
export type KinFacts = {
  readonly id: string;
  readonly kind: 'individual' | 'lot';
  readonly taxonId: string;
  readonly sex: 'male' | 'female' | 'unknown';
  readonly birth: DaySpan;
};

const SEX_OF: Readonly<Record<ParentRole, 'male' | 'female'>> = { sire: 'male', dam: 'female' };

/**
 * Can `parent` be the sire or dam of `child`? Only what is certain refuses: unknown sex and dates that leave a doubt
 * pass, and so does a parent that is dead (stored sperm, eggs taken after death).
 */
export function decideParent(child: KinFacts, parent: KinFacts, role: ParentRole): Decision<null> {
  const blockers = [{ kind: 'animal', id: parent.id, remedy: 'Choose another animal, or correct its record.' }];
  if (child.id === parent.id) return refuse('LINEAGE_SELF_PARENT', 'An animal cannot be its own parent.', { blockers });
  if (parent.kind === 'lot')
    return refuse('LINEAGE_PARENT_IS_LOT', 'A parent is one animal; this record is a lot.', { blockers });
  if (child.taxonId !== parent.taxonId)
    return refuse('LINEAGE_OTHER_TAXON', 'Parent and offspring are recorded as different taxa.', { blockers });
  if (parent.sex !== 'unknown' && parent.sex !== SEX_OF[role]) {
    return refuse(
      'LINEAGE_SEX_CONFLICT',
      `This animal is recorded as ${parent.sex} and cannot be the ${role}. Correct its sex first if that is wrong.`,
      { blockers: [{ kind: 'animal', id: parent.id, remedy: 'Correct its sex first if that is wrong.' }] },
    );
  }
  if (isBefore(parent.birth, child.birth) === 'no') {
    return refuse(
      'LINEAGE_PARENT_NOT_YET_BORN',
      'By the recorded dates this parent was not yet born when its offspring was.',
      { blockers },
    );
  }
  return decide(null);
}

/**
 * The way from an animal up to one of its ancestors, both ends included, or null when there is none: the cycle that would
 * close if the animal became a parent of that ancestor. `parentsOf` lists the recorded parents, candidates included.
 */
export function ancestryPath(from: string, to: string, parentsOf: (id: string) => readonly string[]): string[] | null {
  const cameFrom = new Map<string, string | null>([[from, null]]);
  const open = [from];
  for (let next = open.shift(); next !== undefined; next = open.shift()) {
    if (next === to) {
      const path: string[] = [];
      for (let step: string | null | undefined = next; step !== null && step !== undefined; step = cameFrom.get(step))
        path.unshift(step);
      return path;
    }
    for (const parent of parentsOf(next)) {
      if (cameFrom.has(parent)) continue;
      cameFrom.set(parent, next);
      open.push(parent);
    }
  }
  return null;
}

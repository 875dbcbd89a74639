import { type Candidates, type Pedigree, UNKNOWN } from '../../genetics/index.js';

/** How far back gaps are named: parents, grandparents, great-grandparents. */
const GENERATIONS = 3;
/** Most gaps that are named one by one. */
export const MAX_UNKNOWNS = 20;

/** A pedigree with who is declared to have no ancestors to look for. */
export type KnownPedigree = { readonly pedigree: Pedigree; readonly founder: Uint8Array };

type Role = 'sire' | 'dam';

/**
 * What is not known of the ancestry of a pair, in words, nearest first: parents with several candidates, and parents that are
 * not recorded where nobody declared a founder. It names places, never animals, so it tells nobody who a hidden ancestor is.
 */
export function unknownsOf(known: KnownPedigree, dam: number, sire: number): string[] {
  const words: string[] = [];
  let level = [
    { animal: dam, name: 'the dam' },
    { animal: sire, name: 'the sire' },
  ];
  for (let generation = 0; generation < GENERATIONS; generation++) {
    const next: typeof level = [];
    for (const { animal, name } of level) {
      const parents = (['sire', 'dam'] as const).map((role) => parentOf(known.pedigree, role, animal));
      if (parents.every(({ candidates, certain }) => candidates === 0 && certain === UNKNOWN)) {
        if (known.founder[animal] !== 1) words.push(`the parents of ${name} are not known`);
        continue;
      }
      for (const { role, certain, candidates } of parents) {
        if (candidates > 0) words.push(`${possessive(name)} ${role} has ${candidates} candidates`);
        else if (certain === UNKNOWN) words.push(`${possessive(name)} ${role} is not known`);
        else next.push({ animal: certain, name: `${possessive(name)} ${role}` });
      }
    }
    level = next;
  }
  if (words.length <= MAX_UNKNOWNS) return words;
  return [...words.slice(0, MAX_UNKNOWNS), `and ${words.length - MAX_UNKNOWNS} more of the last three generations`];
}

function parentOf(pedigree: Pedigree, role: Role, animal: number) {
  const all: Candidates | undefined = role === 'sire' ? pedigree.sireCandidates : pedigree.damCandidates;
  const candidates = all === undefined ? 0 : (all.start[animal + 1] ?? 0) - (all.start[animal] ?? 0);
  return { role, certain: pedigree[role][animal] ?? UNKNOWN, candidates };
}

function possessive(name: string): string {
  return `${name}’s`;
}

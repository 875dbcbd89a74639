import { type Candidates, inbreeding, kinship, type Pedigree, UNKNOWN } from '../../genetics/index.js';

/** Between which numbers the kinship of two animals lies, whoever of the candidates the parents were. */
export type KinshipRange = {
  readonly low: number;
  readonly high: number;
  /** Whether some choice of candidates gives each of the two; else they are bounds that no choice passes. */
  readonly exact: boolean;
  /** Parents that several animals may be, among the ancestors of the two and themselves. */
  readonly uncertainParents: number;
};

/** Most choices of candidates that are tried one by one. */
const MAX_CHOICES = 256;
/** Most ancestors times choices, so that an answer takes a moment and not longer. */
const MAX_WORK = 2_000_000;
/** Most ancestors for which bounds are computed: a table of all pairs. */
const MAX_ANCESTORS = 1_500;

type Slot = { readonly child: number; readonly parents: Int32Array; readonly options: readonly number[] };
type Line = { readonly sire: readonly (readonly number[])[]; readonly dam: readonly (readonly number[])[] };

/**
 * The range of the kinship of two animals over all choices of candidate parents. A few choices are tried one by one, and the
 * ends of the range are exact. With more, bounds are computed that no choice passes: the tabular method (Henderson 1976; in Lynch &
 * Walsh 1998, ch. 26, from memory) with the least and the greatest over the candidates in the place of the parent. Null when
 * there are too many ancestors for either. Unknown parents count as unrelated, so `low` is a lower bound in any case.
 *
 * @param certain the kinship with candidates weighed by their probabilities: the answer where no parent is uncertain
 */
export function kinshipRange(pedigree: Pedigree, a: number, b: number, certain: number): KinshipRange | null {
  const found = ancestorsOf(pedigree, [a, b]);
  const numberOf = new Map<number, number>();
  for (const animal of pedigree.order) if (found.has(animal)) numberOf.set(animal, numberOf.size);
  const size = numberOf.size;
  const line: { sire: number[][]; dam: number[][] } = { sire: [], dam: [] };
  for (const animal of numberOf.keys())
    for (const role of ['sire', 'dam'] as const)
      line[role].push(optionsOf(pedigree, role, animal).map((parent) => numberOf.get(parent) ?? UNKNOWN));
  const uncertainParents = [...line.sire, ...line.dam].filter((options) => options.length > 1).length;
  if (uncertainParents === 0) return { low: certain, high: certain, exact: true, uncertainParents };
  const [ia, ib] = [numberOf.get(a) ?? 0, numberOf.get(b) ?? 0];
  const choices = [...line.sire, ...line.dam].reduce((product, { length }) => product * Math.max(1, length), 1);
  if (choices <= MAX_CHOICES && choices * size <= MAX_WORK)
    return { ...tryAll(line, size, ia, ib), exact: true, uncertainParents };
  if (size > MAX_ANCESTORS) return null;
  return {
    low: bound(line, ia, ib, Math.min),
    high: bound(line, ia, ib, Math.max),
    exact: false,
    uncertainParents,
  };
}

/** The animals and all that are or may be their ancestors. */
function ancestorsOf(pedigree: Pedigree, animals: readonly number[]): Set<number> {
  const found = new Set(animals);
  for (const animal of found)
    for (const role of ['sire', 'dam'] as const)
      for (const parent of optionsOf(pedigree, role, animal)) found.add(parent);
  return found;
}

function optionsOf(pedigree: Pedigree, role: 'sire' | 'dam', animal: number): number[] {
  const parent = pedigree[role][animal] ?? UNKNOWN;
  if (parent !== UNKNOWN) return [parent];
  const all: Candidates | undefined = role === 'sire' ? pedigree.sireCandidates : pedigree.damCandidates;
  return all === undefined ? [] : [...all.parent.subarray(all.start[animal], all.start[animal + 1])];
}

function tryAll(line: Line, size: number, a: number, b: number): { low: number; high: number } {
  const sire = Int32Array.from(line.sire, (options) => options[0] ?? UNKNOWN);
  const dam = Int32Array.from(line.dam, (options) => options[0] ?? UNKNOWN);
  const slots: Slot[] = [
    ...line.sire.map((options, child) => ({ child, parents: sire, options })),
    ...line.dam.map((options, child) => ({ child, parents: dam, options })),
  ].filter(({ options }) => options.length > 1);
  const pedigree: Pedigree = { sire, dam, order: Int32Array.from({ length: size }, (_, i) => i) };
  let [low, high] = [Infinity, -Infinity];
  const choose = (at: number): void => {
    const slot = slots[at];
    if (slot === undefined) {
      const value = kinship(pedigree, inbreeding(pedigree), a, b);
      low = Math.min(low, value);
      high = Math.max(high, value);
      return;
    }
    for (const option of slot.options) {
      slot.parents[slot.child] = option;
      choose(at + 1);
    }
  };
  choose(0);
  return { low, high };
}

/** Least or greatest kinship of two animals where each uncertain parent may be another candidate each time it is met. */
function bound(line: Line, a: number, b: number, pick: (x: number, y: number) => number): number {
  const size = Math.max(a, b) + 1;
  const table = new Float64Array(size * size);
  const at = (i: number, j: number): number => table[i * size + j] as number;
  const best = (options: readonly number[], j: number): number =>
    options.length === 0 ? 0 : options.map((parent) => at(parent, j)).reduce((x, y) => pick(x, y));
  for (let i = 0; i < size; i++) {
    const [sires, dams] = [line.sire[i] ?? [], line.dam[i] ?? []];
    for (let j = 0; j < i; j++) {
      const value = 0.5 * (best(sires, j) + best(dams, j));
      table[i * size + j] = value;
      table[j * size + i] = value;
    }
    const own = sires.length === 0 ? 0 : sires.map((sire) => best(dams, sire)).reduce((x, y) => pick(x, y));
    table[i * size + i] = 0.5 * (1 + own);
  }
  return at(a, b);
}

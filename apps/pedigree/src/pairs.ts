import { kinshipWithAll, type Pedigree } from '../../../libs/genetics/index.js';
import type { NumberedAnimals } from './number-animals.js';
import { Refusal } from './refusal.js';

/** Kinship of two animals, which is the inbreeding of their offspring. */
export interface PairKinship {
  readonly a: string;
  readonly b: string;
  readonly kinship: number;
}

/** Two animals by number. */
export type Pair = readonly [a: number, b: number];

/**
 * Finds the animals of "A,B". Names may hold commas: of all ways to cut the text, the one with two known names counts.
 *
 * @throws Refusal naming the animal that is not in the file
 */
export function findPairs(animals: NumberedAnimals, asked: readonly string[]): Pair[] {
  return asked.map((text) => {
    const parts = text.split(',');
    if (parts.length < 2) throw new Refusal(`--pair "${text}" has no comma. Write two ids: --pair A,B`);
    for (let cut = 1; cut < parts.length; cut++) {
      const a = animals.numberOf.get(parts.slice(0, cut).join(',').trim());
      const b = animals.numberOf.get(parts.slice(cut).join(',').trim());
      if (a !== undefined && b !== undefined) return [a, b];
    }
    const names = parts.map((part) => part.trim());
    const unknown = names.length === 2 ? names.filter((name) => !animals.numberOf.has(name)) : [text];
    throw new Refusal(
      `--pair: there is no animal ${unknown.map((name) => `"${name}"`).join(' and no ')} in the file. Write the ids as in the file.`,
    );
  });
}

/** Kinship of each pair; pairs with the same first animal share the work. */
export function pairKinships(
  animals: NumberedAnimals,
  pedigree: Pedigree,
  inbreeding: Float64Array,
  pairs: readonly Pair[],
): PairKinship[] {
  let current = UNSET;
  let withAll = new Float64Array();
  const found = new Map<Pair, number>();
  for (const pair of [...pairs].sort((p, q) => p[0] - q[0])) {
    if (pair[0] !== current) {
      current = pair[0];
      withAll = Float64Array.from(kinshipWithAll(pedigree, inbreeding, current));
    }
    found.set(pair, withAll[pair[1]] ?? 0);
  }
  return pairs.map((pair) => ({
    a: animals.ids[pair[0]] ?? '',
    b: animals.ids[pair[1]] ?? '',
    kinship: found.get(pair) ?? 0,
  }));
}

const UNSET = -1;

import { kinshipMatrix, kinshipTies, type KinshipTies, type Pedigree } from '../../genetics/index.js';

/** The part of a pedigree that kinship is computed from; see `PedigreeSnapshot`. */
export type KinshipSource = {
  readonly pedigree: Pedigree;
  readonly inbreeding: Float64Array;
  readonly sampling: Float64Array | undefined;
};

/** How far ties are followed in a deep and inbred pedigree: some hundredths of a second. */
const MOST_POSITIONS = 4_000;

/** The ties of two animals. */
export function tiesOf(input: KinshipSource & { readonly a: number; readonly b: number }): KinshipTies {
  const { pedigree, inbreeding, sampling, a, b } = input;
  return kinshipTies(pedigree, inbreeding, a, b, sampling, MOST_POSITIONS);
}

/** Kinship of each of some animals with each, one row an animal; with itself (1 + F) / 2. */
export function kinshipsOf(input: KinshipSource & { readonly animals: readonly number[] }): number[][] {
  const { pedigree, inbreeding, sampling, animals } = input;
  const all = kinshipMatrix(pedigree, inbreeding, animals, sampling);
  return animals.map((_, row) => [...all.subarray(row * animals.length, (row + 1) * animals.length)]);
}

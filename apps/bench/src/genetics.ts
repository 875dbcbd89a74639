import {
  inbreeding,
  kinshipWithAll,
  knownAncestry,
  meanKinship,
  type Pedigree,
  sortPedigree,
} from '../../../libs/genetics/index.js';
import { makeHerd } from './herd.js';
import { meuwissenLuo } from './meuwissen-luo.js';
import { milliseconds, printNote, printTable, ratio, whole } from './table.js';
import { fastestOf, timed } from './timing.js';

const SEED = 1948;
const SIZES = [10_000, 20_000, 40_000];
const LARGE = [100_000, 200_000, 1_000_000];
/** A young registry and an old one: the longer the lines, the more ancestors an animal has. */
const YEARS = [50, 100];
/** From here on one run of the engine has to do. */
const RUN_ONCE = 1_000_000;
/** The plain loop is left out where, growing with the square of the herd, it would take longer than this. */
const PLAIN_PATIENCE_MS = 20_000;

/** The pedigree engine on growing herds, beside the plain loop of 1992. No database. */
export function benchGenetics(options: { readonly large: boolean }): void {
  measure(4_000, 50, true); // so that the first size is not the one that waits for the compiler
  const sizes = options.large ? [...SIZES, ...LARGE] : SIZES;
  const results: ReturnType<typeof measure>[] = [];
  for (const years of YEARS) {
    let expected = 0; // milliseconds of the plain loop for one pair of animals
    for (const size of sizes) {
      const result = measure(size, years, expected * size ** 2 <= PLAIN_PATIENCE_MS);
      expected = result.plain === null ? Infinity : result.plain / size ** 2;
      results.push(result);
    }
  }
  printTable(
    'Pedigree engine (milliseconds)',
    [
      'animals',
      'years',
      'mean F',
      'sort',
      'F of all',
      'plain loop',
      'faster',
      'mean kinship',
      'one with all',
      'ancestry',
    ],
    results.map(({ size, years, meanF, sort, engine, plain, mean, one, ancestry }) => [
      whole(size),
      whole(years),
      meanF.toFixed(4),
      milliseconds(sort),
      milliseconds(engine),
      plain === null ? 'left out' : milliseconds(plain),
      plain === null ? '' : `${ratio(plain / engine)} x`,
      milliseconds(mean),
      milliseconds(one),
      milliseconds(ancestry),
    ]),
  );
  const largest = Math.max(...results.map(({ difference }) => difference));
  printNote(
    `Largest difference between the two F of one animal: ${largest.toExponential(1)}. Fastest of 5 runs; seed ${SEED}.`,
  );
  printNote(
    'Plain loop: Meuwissen & Luo 1992 in the same language; one run where it takes a second. Mean kinship of all with the younger half.',
  );
}

function measure(size: number, years: number, withPlain: boolean) {
  const herd = makeHerd(size, SEED, years);
  const pedigree = sorted(herd.sire, herd.dam);
  const [f, once] = timed(() => inbreeding(pedigree));
  const group = Uint8Array.from({ length: size }, (_, i) => (i >= size / 2 ? 1 : 0));
  const [reference, plain] = withPlain ? timed(() => meuwissenLuo(pedigree)) : [null, null];
  return {
    size,
    years,
    meanF: f.reduce((sum, x) => sum + x, 0) / size,
    sort: fastestOf(5, () => sorted(herd.sire, herd.dam)),
    engine: size < RUN_ONCE ? fastestOf(5, () => inbreeding(pedigree)) : once,
    plain: plain !== null && plain < 1_000 ? fastestOf(5, () => meuwissenLuo(pedigree)) : plain,
    difference:
      reference === null ? 0 : f.reduce((most, x, i) => Math.max(most, Math.abs(x - (reference[i] ?? NaN))), 0),
    mean: fastestOf(5, () => meanKinship(pedigree, f, group)),
    one: fastestOf(5, () => kinshipWithAll(pedigree, f, size - 1)),
    ancestry: fastestOf(5, () => knownAncestry(pedigree)),
  };
}

function sorted(sire: Int32Array, dam: Int32Array): Pedigree {
  const result = sortPedigree(sire, dam);
  if (result.kind === 'cyclic') throw new Error('The generator made a loop.');
  return result.pedigree;
}

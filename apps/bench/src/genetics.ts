import {
  inbreeding,
  kinshipMatrix,
  kinshipWithAll,
  knownAncestry,
  meanKinship,
  pairKinship,
  type Pedigree,
  sortPedigree,
} from '../../../libs/genetics/index.js';
import { denseTable } from './dense-table.js';
import { type Herd, makeHerd, seededRandom } from './herd.js';
import { inbreedingInTwoThreads } from './inbreeding-threads.js';
import { meuwissenLuo } from './meuwissen-luo.js';
import { milliseconds, printNote, printTable, ratio, whole } from './table.js';
import { fastestOf, percentile, timed, timedAsync } from './timing.js';

const SEED = 1948;
const SIZES = [10_000, 20_000, 40_000];
const LARGE = [100_000, 200_000, 1_000_000];
/** A young registry and an old one: the longer the lines, the more ancestors an animal has. */
const YEARS = [50, 100];
/** From here on two runs of the engine have to do. */
const FEW_RUNS = 1_000_000;
/** The plain loop is left out where, growing with the square of the herd, it would take longer than this. */
const PLAIN_PATIENCE_MS = 20_000;
/** From here on the engine also runs in two threads. */
const FOR_THREADS = 40_000;
const BIRTHS = 2_000;
/** So many of the youngest of a herd of so many. */
const MATRICES = [
  { size: 1_250, herdSize: 1_250 },
  { size: 2_500, herdSize: 2_500 },
  { size: 5_000, herdSize: 5_000 },
  { size: 500, herdSize: 5_000 },
];

/** The pedigree engine on growing herds, beside plain methods in the same run. No database. */
export async function benchGenetics(options: { readonly large: boolean }): Promise<void> {
  await measure(4_000, 50, true); // so that the first size is not the one that waits for the compiler
  const sizes = options.large ? [...SIZES, ...LARGE] : SIZES;
  const results: Awaited<ReturnType<typeof measure>>[] = [];
  for (const years of YEARS) {
    let expected = 0; // milliseconds of the plain loop for one pair of animals
    for (const size of sizes) {
      const result = await measure(size, years, expected * size ** 2 <= PLAIN_PATIENCE_MS);
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
      'two threads',
      'plain loop',
      'faster',
      'mean kinship',
      'one with all',
      'ancestry',
    ],
    results.map(({ size, years, meanF, sort, engine, twoThreads, plain, mean, one, ancestry }) => [
      whole(size),
      whole(years),
      meanF.toFixed(4),
      milliseconds(sort),
      milliseconds(engine),
      twoThreads === null ? '' : milliseconds(twoThreads),
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
  printTable(
    'F of one animal that is born, from its parents (milliseconds), and memory of the engine',
    ['animals', 'years', 'prepare', 'p50', 'p99', 'plain product', 'memory MB'],
    results.map(({ size, years, birth, one, memory }) => [
      whole(size),
      whole(years),
      milliseconds(birth.prepare),
      birth.p50.toFixed(3),
      birth.p99.toFixed(3),
      milliseconds(one),
      memory.toFixed(0),
    ]),
  );
  printNote(`${whole(BIRTHS)} pairs of the animals of breeding age, drawn evenly. Plain product: one animal with all.`);
  printNote('Memory: what F of all, with the sorted pedigree, adds to the highest memory of the process so far.');
  printMatrices();
}

async function measure(size: number, years: number, withPlain: boolean) {
  const herd = makeHerd(size, SEED, years);
  const memoryBefore = process.memoryUsage().rss;
  const pedigree = sorted(herd.sire, herd.dam);
  const [f, once] = timed(() => inbreeding(pedigree));
  const memory = Math.max(0, process.resourceUsage().maxRSS * 1024 - memoryBefore) / 1e6;
  const twoThreads = size < FOR_THREADS ? null : await fastestInTwoThreads(pedigree, f);
  const group = Uint8Array.from({ length: size }, (_, i) => (i >= size / 2 ? 1 : 0));
  const [reference, plain] = withPlain ? timed(() => meuwissenLuo(pedigree)) : [null, null];
  return {
    size,
    years,
    memory,
    twoThreads,
    meanF: f.reduce((sum, x) => sum + x, 0) / size,
    sort: fastestOf(5, () => sorted(herd.sire, herd.dam)),
    engine: Math.min(
      once,
      fastestOf(size < FEW_RUNS ? 4 : 1, () => inbreeding(pedigree)),
    ),
    plain: plain !== null && plain < 1_000 ? fastestOf(5, () => meuwissenLuo(pedigree)) : plain,
    difference: reference === null ? 0 : largestDifference(f, reference),
    mean: fastestOf(5, () => meanKinship(pedigree, f, group)),
    one: fastestOf(5, () => kinshipWithAll(pedigree, f, size - 1)),
    ancestry: fastestOf(5, () => knownAncestry(pedigree)),
    birth: measureBirths(herd, pedigree, f, years),
  };
}

/** Milliseconds of the faster of two runs, starting the thread included; null where the engine would not share the work. */
async function fastestInTwoThreads(pedigree: Pedigree, expected: Float64Array): Promise<number | null> {
  let fastest = Infinity;
  for (let run = 0; run < 2; run++) {
    const [f, ms] = await timedAsync(() => inbreedingInTwoThreads(pedigree));
    if (f === null) return null;
    if (largestDifference(f, expected) > 0) throw new Error('Two threads gave another F than one.');
    fastest = Math.min(fastest, ms);
  }
  return fastest;
}

/** Births of random pairs of breeding age at the end of the herd's time; the largest herds have the longest lists. */
function measureBirths(herd: Herd, pedigree: Pedigree, f: Float64Array, years: number) {
  const random = seededRandom(SEED);
  const [sires, dams]: [number[], number[]] = [[], []];
  for (let i = 0; i < f.length; i++) {
    const age = years - (herd.year[i] ?? 0);
    if (age >= 2 && age < 14) (herd.male[i] === 1 ? sires : dams).push(i);
  }
  const draw = (from: readonly number[]): number => from[Math.floor(random() * from.length)] as number;
  const [kinshipOf, prepare] = timed(() => pairKinship(pedigree, f));
  const times = Array.from({ length: BIRTHS }, () => {
    const [sire, dam] = [draw(sires), draw(dams)];
    return timed(() => kinshipOf(sire, dam))[1];
  });
  return { prepare, p50: percentile(times, 0.5), p99: percentile(times, 0.99) };
}

function printMatrices(): void {
  const rows = MATRICES.map(({ size, herdSize }) => {
    const herd = makeHerd(herdSize, SEED, 50);
    const pedigree = sorted(herd.sire, herd.dam);
    const f = inbreeding(pedigree);
    const animals = Int32Array.from({ length: size }, (_, i) => herdSize - size + i);
    const matrix = kinshipMatrix(pedigree, f, animals);
    const table = denseTable(pedigree);
    let difference = 0;
    for (let r = 0; r < size; r++)
      for (let c = 0; c < size; c++) {
        const expected = table[(animals[r] as number) * herdSize + (animals[c] as number)] as number;
        difference = Math.max(difference, Math.abs((matrix[r * size + c] as number) - expected));
      }
    const engine = fastestOf(3, () => kinshipMatrix(pedigree, f, animals));
    const plain = fastestOf(3, () => denseTable(pedigree));
    return [
      whole(size),
      whole(herdSize),
      milliseconds(engine),
      milliseconds(plain),
      `${ratio(plain / engine)} x`,
      difference.toExponential(1),
    ];
  });
  printTable(
    'Kinship of every animal of a list with every other (milliseconds)',
    ['animals', 'of a herd of', 'engine', 'dense table', 'faster', 'largest difference'],
    rows,
  );
  printNote(
    'Dense table: the tabular method over the whole herd, in the same language (Emik & Terrill 1949), which is what the engine does too where the list is most of the herd. Fastest of 3 runs.',
  );
}

function largestDifference(a: Float64Array, b: Float64Array): number {
  let most = 0;
  for (let i = 0; i < a.length; i++) most = Math.max(most, Math.abs((a[i] as number) - (b[i] as number)));
  return most;
}

function sorted(sire: Int32Array, dam: Int32Array): Pedigree {
  const result = sortPedigree(sire, dam);
  if (result.kind === 'cyclic') throw new Error('The generator made a loop.');
  return result.pedigree;
}

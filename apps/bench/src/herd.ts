import { UNKNOWN } from '../../../libs/genetics/index.js';

/** An invented population. Parents stand before their children; −1 = not known. */
export type Herd = {
  readonly sire: Int32Array;
  readonly dam: Int32Array;
  readonly male: Uint8Array;
  /** Year of birth, 0 for the first. */
  readonly year: Int32Array;
};

const MATURITY = 2;
const REPRODUCTIVE_YEARS = 12;
const FOUNDERS = 0.02;
const HALF_KNOWN = 0.05;
const LARGEST_LITTER = 6;

/** Uniform numbers in [0, 1) from a seed: mulberry32, a public-domain generator by T. Ettinger (from memory). */
export function seededRandom(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}

/**
 * A herd of `size` animals with overlapping generations: mature at 2 years, breeding for 12, litters of 1 to 6 full
 * siblings, dams drawn evenly, sires by the square of a uniform number so that few have many offspring; 5 % of litters
 * with one parent unknown, 2 % of animals founders, half of them at the start. It grows evenly over `years`: a herd twice
 * as large is wider, not deeper. The same seed gives the same herd.
 */
export function makeHerd(size: number, seed: number, years = 50): Herd {
  const random = seededRandom(seed);
  const herd = {
    sire: new Int32Array(size).fill(UNKNOWN),
    dam: new Int32Array(size).fill(UNKNOWN),
    male: Uint8Array.from({ length: size }, () => (random() < 0.5 ? 1 : 0)),
    year: new Int32Array(size),
  };
  const firstFounders = Math.max(8, Math.round((size * FOUNDERS) / 2));
  // Births a year, and the chance that a litter's place goes to one new founder: one litter is 3.5 animals.
  const perYear = (size - firstFounders) / (years - MATURITY);
  const newFounder = (FOUNDERS / 2) * ((1 + LARGEST_LITTER) / 2);
  let next = firstFounders;
  for (let year = MATURITY; next < size; year++) {
    const parents = breedingIn(year, herd, next);
    const end = Math.min(size, Math.round(firstFounders + perYear * (year - MATURITY + 1)));
    while (next < end) {
      if (random() < newFounder) {
        herd.year[next++] = year;
        continue;
      }
      const sire = parents.sires[Math.floor(random() ** 2 * parents.sires.length)] ?? UNKNOWN;
      const dam = parents.dams[Math.floor(random() * parents.dams.length)] ?? UNKNOWN;
      const lost = random() < HALF_KNOWN ? (random() < 0.5 ? 'sire' : 'dam') : null;
      const litter = 1 + Math.floor(random() * LARGEST_LITTER);
      for (let k = 0; k < litter && next < end; k++) {
        herd.sire[next] = lost === 'sire' ? UNKNOWN : sire;
        herd.dam[next] = lost === 'dam' ? UNKNOWN : dam;
        herd.year[next++] = year;
      }
    }
  }
  return herd;
}

/** The animals of breeding age in a year. The first founders are of any age then, and breed for the full time. */
function breedingIn(year: number, herd: Herd, count: number): { sires: number[]; dams: number[] } {
  const [sires, dams]: [number[], number[]] = [[], []];
  for (let i = 0; i < count; i++) {
    const age = year - (herd.year[i] ?? 0);
    if (age >= MATURITY && age < MATURITY + REPRODUCTIVE_YEARS) (herd.male[i] === 1 ? sires : dams).push(i);
  }
  return { sires, dams };
}

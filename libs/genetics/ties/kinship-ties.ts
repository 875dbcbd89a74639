import { mendelianSamplings } from '../inbreeding/inbreeding-uncertain.js';
import { gatherTies, type KinshipTie, type Meeting, type SharedAncestor } from './gather-ties.js';
import type { Pedigree } from '../pedigree/pedigree.js';
import { mendelianSampling } from '../kinship/relationship.js';
import { sharedLines, type SharedLines } from './shared-lines.js';

/** How two animals are related. */
export interface KinshipTies {
  readonly kinship: number;
  /** Closest first. */
  readonly ties: readonly KinshipTie[];
  /** Largest contribution first. */
  readonly sharedAncestors: readonly SharedAncestor[];
  /** Part of the kinship that lies in ties more distant than those looked at; 0 where all were. */
  readonly rest: number;
}

/** Positions of the two lines that are looked at, unasked, before the rest is left as a sum: a fifth of a second at most. */
const MOST_POSITIONS = 25_000;

/** A rest below this share of the kinship is rounding. */
const ROUNDING = 1e-12;

/**
 * The ties that make up the kinship of two animals, by Wright's paths: f_ab = Σ (1/2)^(n1 + n2 + 1) · (1 + F_A) over all ways
 * to go up from a and from b to an ancestor A on paths that share no animal but A (Wright 1922, Am. Nat. 56:330). Each such A
 * is a nearest shared ancestor: its own ancestors count only where a path turns at them, so that the contributions say
 * what a keeper asks, "through whom", and full siblings get theirs through sire and dam however deep the pedigree. (The other
 * exact split, ½ T_aA·D_A·T_bA over all shared ancestors, spreads the share of a sire over his forebears.)
 *
 * Paths are not listed one by one. Two lines start at a and b; the one at the younger animal goes up, to each of its
 * parents; where they meet they end. This passes each pair of paths once, and ways that come to the same two steps after
 * the same generations are one position with the sum of their weights. The nearest positions come first; after
 * `mostPositions`, which only deep and inbred pedigrees reach, what is left of the kinship is told as `rest`.
 * Contributions and rest sum to the kinship.
 *
 * An unknown parent is nobody's relative. Candidates stand in with their probabilities, drawn for each animal anew.
 *
 * @param inbreeding F, n numbers
 * @param sampling   see `relationshipProduct`
 * @param mostPositions how much is looked at; time and memory are proportional to it
 * @throws RangeError when a or b is not in the pedigree
 */
export function kinshipTies(
  pedigree: Pedigree,
  inbreeding: Float64Array,
  a: number,
  b: number,
  sampling?: Float64Array,
  mostPositions = MOST_POSITIONS,
): KinshipTies {
  for (const animal of [a, b])
    if (!(animal in pedigree.sire))
      throw new RangeError(`there is no animal ${animal} in a pedigree of ${pedigree.order.length}`);
  const own = (animal: number): number => 0.5 * (1 + (inbreeding[animal] as number));
  if (a === b) return sameAnimal(a, own(a));
  const lines = sharedLines(pedigree, a, b, samplingOf(pedigree, inbreeding, sampling));
  if (lines.a === 0 || lines.b === 0) return { kinship: 0, ties: [], sharedAncestors: [], rest: 0 };
  const { meetings, rest } = followLines(lines, own, mostPositions);
  return { kinship: lines.kinship, ...gatherTies(lines, meetings), rest };
}

function sameAnimal(animal: number, kinship: number): KinshipTies {
  const place = { generationsA: 0, generationsB: 0, contribution: kinship };
  const tie = { kind: 'same', full: false, sharedParent: null, throughA: null, throughB: null } as const;
  return {
    kinship,
    ties: [{ ...tie, ...place, ancestors: [animal], probability: 1, fullProbability: 0 }],
    sharedAncestors: [{ animal, ...place, share: 1 }],
    rest: 0,
  };
}

function samplingOf(pedigree: Pedigree, inbreeding: Float64Array, given?: Float64Array): (animal: number) => number {
  if (pedigree.sireCandidates || pedigree.damCandidates) {
    const sampling = given ?? mendelianSamplings(pedigree, inbreeding);
    return (animal) => sampling[animal] as number;
  }
  const f = (parent: number): number => (parent < 0 ? -1 : (inbreeding[parent] as number));
  return (animal) => mendelianSampling(f(pedigree.sire[animal] as number), f(pedigree.dam[animal] as number));
}

/** Two lines on their way up: the step that each took last, −1 before the first. */
interface Position {
  readonly stepA: number;
  readonly stepB: number;
  readonly generationsA: number;
  /** Chance that a gene of a and one of b came this way, and the same if all candidates were certain. */
  weight: number;
  plainWeight: number;
  /** Sexes of the first parent of each line: 1 sire, 2 dam, 3 both. */
  firstA: number;
  firstB: number;
}

/** Follows the lines level by level, a level being the generations of both together. */
function followLines(
  lines: SharedLines,
  own: (animal: number) => number,
  mostPositions: number,
): { meetings: Meeting[]; rest: number } {
  const { parent, start, animal, kinship } = lines;
  const steps = parent.length + 1;
  const meetings: Meeting[] = [];
  const beginning = { stepA: -1, stepB: -1, generationsA: 0, weight: 1, plainWeight: 1, firstA: 0, firstB: 0 };
  let level: Iterable<Position> = [beginning];
  let looked = 0;
  let found = 0;
  for (let generations = 1; ; generations++) {
    const next = new Map<number, Position>();
    for (const position of level) {
      const atA = position.stepA < 0 ? lines.a : (parent[position.stepA] as number);
      const atB = position.stepB < 0 ? lines.b : (parent[position.stepB] as number);
      const younger = Math.max(atA, atB);
      for (let step = start[younger] as number; step < (start[younger + 1] as number); step++) {
        const moved = move(lines, position, step, atA > atB);
        if ((parent[step] as number) === Math.min(atA, atB)) {
          const contribution = moved.weight * own(animal[parent[step] as number] as number);
          found += contribution;
          meetings.push({ ...moved, generationsB: generations - moved.generationsA, contribution });
          continue;
        }
        const key = (moved.generationsA * steps + moved.stepA + 1) * steps + moved.stepB + 1;
        const same = next.get(key);
        if (same) merge(same, moved);
        else next.set(key, moved);
      }
    }
    const rest = kinship - found;
    if (next.size === 0 || rest <= ROUNDING * kinship) return { meetings, rest: 0 };
    looked += next.size;
    if (looked > mostPositions) return { meetings, rest };
    level = next.values();
  }
}

function move(lines: SharedLines, from: Position, step: number, ofA: boolean): Position {
  const first = lines.toDam[step] === 1 ? 2 : 1;
  return {
    stepA: ofA ? step : from.stepA,
    stepB: ofA ? from.stepB : step,
    generationsA: from.generationsA + (ofA ? 1 : 0),
    weight: 0.5 * from.weight * (lines.probability[step] as number),
    plainWeight: 0.5 * from.plainWeight,
    firstA: ofA && from.stepA < 0 ? first : from.firstA,
    firstB: !ofA && from.stepB < 0 ? first : from.firstB,
  };
}

function merge(into: Position, other: Position): void {
  into.weight += other.weight;
  into.plainWeight += other.plainWeight;
  into.firstA |= other.firstA;
  into.firstB |= other.firstB;
}

import * as genetics from '../../../libs/genetics/index.js';
import type { Defect } from './defects.js';
import { countUnreadBirths, describeCycles, findDateConflicts, findSexConflicts } from './find-defects.js';
import { numberAnimals, type NumberedAnimals } from './number-animals.js';
import { findPairs, pairKinships, type PairKinship } from './pairs.js';
import type { PedigreeFile } from './read-csv.js';
import { referenceGroup, type ReferenceGroup } from './reference-group.js';

/** Figures of the reference group; definitions in docs/pedigree.md. */
export interface PopulationFigures {
  readonly size: number;
  readonly meanInbreeding: number;
  readonly meanKinship: number;
  readonly geneDiversity: number;
  readonly founderGenomeEquivalents: number;
  readonly founderEquivalents: number;
  readonly founderEquivalentsKnownOnly: number;
  readonly effectiveAncestors: number;
  readonly knownAncestry: number;
}

/** How deep the pedigree of the reference group is, and what it tells of the past; definitions in docs/pedigree.md. */
export interface DepthFigures {
  readonly meanGenerationEquivalents: number;
  readonly meanAncestralInbreeding: number;
  /** Ne from individual ΔF; null where no member is deep enough, and where none that counts is inbred: no limit is seen. */
  readonly effectiveSize: number | null;
  readonly effectiveSizeStandardError: number | null;
  /** Members that count for Ne. */
  readonly effectiveSizeCounted: number;
}

/** Figures of every animal, in the numbering of {@link NumberedAnimals}. */
export interface Computed {
  readonly pedigree: genetics.Pedigree;
  readonly reference: ReferenceGroup;
  readonly inbreeding: Float64Array;
  readonly knownAncestry: Float64Array;
  /** With the reference group, of members and of all others. */
  readonly meanKinship: Float64Array;
  readonly generationEquivalents: Float64Array;
  readonly ancestralInbreeding: Float64Array;
  readonly population: PopulationFigures;
  readonly depth: DepthFigures;
  readonly pairs: readonly PairKinship[];
}

/** What a file holds: its animals and defects, and the figures unless a defect stands in the way. */
export interface Analysis {
  readonly animals: NumberedAnimals;
  readonly defects: readonly Defect[];
  readonly unreadBirths: number;
  readonly computed?: Computed;
  readonly timingsMs: { readonly sort: number; readonly inbreeding: number; readonly meanKinship: number };
}

/** What is asked of a file beyond the figures of every animal. */
export interface AnalysisRequest {
  readonly reference?: { readonly column: string; readonly value: string };
  /** Pairs as written, "A,B". */
  readonly pairs?: readonly string[];
}

/**
 * Sorts the animals of a file, finds its defects and computes.
 *
 * @throws Refusal when the reference column or value, or an animal of a pair, is not in the file
 */
export function analyse(file: PedigreeFile, request: AnalysisRequest = {}): Analysis {
  const { animals, defects: defectsOfRows } = numberAnimals(file);
  const reference = referenceGroup(file, animals, request.reference);
  const asked = findPairs(animals, request.pairs ?? []);
  const [sorted, sort] = timed(() => genetics.sortPedigree(animals.sire, animals.dam));
  const defects = [
    ...(sorted.kind === 'cyclic' ? describeCycles(animals, sorted.cycles) : []),
    ...defectsOfRows,
    ...findSexConflicts(animals),
    ...findDateConflicts(animals),
  ];
  const found = { animals, defects, unreadBirths: countUnreadBirths(animals) };
  if (sorted.kind === 'cyclic' || defects.some((defect) => defect.refuses)) {
    return { ...found, timingsMs: { sort, inbreeding: 0, meanKinship: 0 } };
  }

  const { pedigree } = sorted;
  const { members } = reference;
  const [inbreeding, inbreedingMs] = timed(() => genetics.inbreeding(pedigree));
  const [meanKinship, meanKinshipMs] = timed(() => genetics.meanKinship(pedigree, inbreeding, members));
  const knownAncestry = genetics.knownAncestry(pedigree);
  const contributions = genetics.founderContributions(pedigree, members);
  const populationMeanKinship = genetics.groupMean(meanKinship, members);
  const population: PopulationFigures = {
    size: genetics.groupSize(members),
    meanInbreeding: genetics.groupMean(inbreeding, members),
    meanKinship: populationMeanKinship,
    geneDiversity: genetics.geneDiversity(populationMeanKinship),
    founderGenomeEquivalents: genetics.founderGenomeEquivalents(populationMeanKinship),
    founderEquivalents: genetics.founderEquivalents(contributions),
    founderEquivalentsKnownOnly: genetics.founderEquivalentsKnownOnly(contributions),
    effectiveAncestors: genetics.effectiveAncestors(pedigree, members),
    knownAncestry: genetics.groupMean(knownAncestry, members),
  };
  const generationEquivalents = genetics.generationEquivalents(pedigree);
  const ancestralInbreeding = genetics.ancestralInbreeding(pedigree, inbreeding);
  const effective = genetics.effectiveSize(inbreeding, generationEquivalents, members);
  const finite = (value: number | undefined): number | null => (Number.isFinite(value) ? (value ?? null) : null);
  const depth: DepthFigures = {
    meanGenerationEquivalents: genetics.groupMean(generationEquivalents, members),
    meanAncestralInbreeding: genetics.groupMean(ancestralInbreeding, members),
    effectiveSize: finite(effective?.size),
    effectiveSizeStandardError: finite(effective?.standardError),
    effectiveSizeCounted: effective?.counted ?? 0,
  };
  const pairs = pairKinships(animals, pedigree, inbreeding, asked);
  const ofEach = { inbreeding, knownAncestry, meanKinship, generationEquivalents, ancestralInbreeding };
  return {
    ...found,
    computed: { pedigree, reference, ...ofEach, population, depth, pairs },
    timingsMs: { sort, inbreeding: inbreedingMs, meanKinship: meanKinshipMs },
  };
}

/** Runs a computation and says how many milliseconds it took. */
export function timed<T>(compute: () => T): [result: T, milliseconds: number] {
  const started = performance.now();
  const result = compute();
  return [result, performance.now() - started];
}

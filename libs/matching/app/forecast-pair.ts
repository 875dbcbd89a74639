import { Injectable } from '@nestjs/common';
import { AnimalReadStore, type AnimalView } from '../../animal/index.js';
import { diversityAfterOffspring, geneDiversity, kinship } from '../../genetics/index.js';
import { invalidInput, notFound, ruleRefused, type Viewer } from '../../kernel/index.js';
import { type Living, LivingPopulation, PastLineage, RelateAnimals } from '../../lineage/index.js';
import { type RequestLoaders } from '../../platform/graphql/index.js';
import { pairProblems, pairWarnings, type PairWarning, unknownOrigins } from '../core/forecast.core.js';
import { type KinshipRange, kinshipRange } from '../core/kinship-range.core.js';
import { unknownsOf } from '../core/unknowns.core.js';
import { diversityOf } from './mate-numbers.js';

/** Gene diversity of the living once so many offspring of the pair are among them. */
export type DiversityStep = { readonly offspring: number; readonly geneDiversity: number; readonly change: number };

export type PairForecast = {
  readonly dam: AnimalView;
  readonly sire: AnimalView;
  readonly offspringInbreeding: number;
  readonly range: KinshipRange | null;
  readonly words: string;
  readonly knownAncestry: number;
  /** Null for one who no longer has one of the two: the living of today are not theirs to read. */
  readonly diversity: readonly DiversityStep[] | null;
  readonly living: Living | null;
  readonly unknown: readonly string[];
  readonly warnings: readonly PairWarning[];
};

/** Says what offspring of two animals would be, before anybody puts them together. */
@Injectable()
export class ForecastPair {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly population: LivingPopulation,
    private readonly past: PastLineage,
    private readonly relate: RelateAnimals,
  ) {}

  /** NOT_FOUND, INVALID_INPUT (lot, different taxa, number of offspring), LINEAGE_CHANGED_SINCE for a past holder. */
  async execute(
    viewer: Viewer,
    pair: { readonly damId: string; readonly sireId: string; readonly offspring: number },
    loaders: RequestLoaders,
  ): Promise<PairForecast> {
    const found = await this.animals.findVisible(viewer, [...new Set([pair.damId, pair.sireId])]);
    const [dam, sire] = [found.get(pair.damId), found.get(pair.sireId)];
    if (dam === undefined || sire === undefined) throw notFound('animal');
    const problems = pairProblems(dam, sire, pair.offspring);
    if (problems.length > 0) throw invalidInput(problems);
    await this.refuseChanged([dam, sire], loaders);
    const living = await this.population.of(dam.taxonId);
    const { words } = await this.relate.within(living.snapshot, dam, sire);
    return { dam, sire, ...forecast(living, dam, sire, words.phrase, pair.offspring) };
  }

  private async refuseChanged(pair: readonly AnimalView[], loaders: RequestLoaders): Promise<void> {
    const changed = await Promise.all(pair.map((animal) => this.past.isChanged(animal, loaders)));
    if (!changed.includes(true)) return;
    throw ruleRefused({
      rule: 'LINEAGE_CHANGED_SINCE',
      message:
        'Ancestors of an animal you gave away were recorded otherwise since. The number of today is not yours to read.',
    });
  }
}

function forecast(
  living: Living,
  dam: AnimalView,
  sire: AnimalView,
  words: string,
  offspring: number,
): Omit<PairForecast, 'dam' | 'sire'> {
  const { snapshot } = living;
  const { pedigree, inbreeding, knownAncestry } = snapshot;
  const [d, s] = [snapshot.indexOf.get(dam.id), snapshot.indexOf.get(sire.id)];
  if (d === undefined || s === undefined) throw new Error('A registered animal is missing from its pedigree.');
  const value = kinship(pedigree, inbreeding, d, s);
  const isPast = dam.level === 'past' || sire.level === 'past';
  return {
    offspringInbreeding: value,
    range: kinshipRange(pedigree, d, s, value),
    words,
    knownAncestry: ((knownAncestry[d] ?? 0) + (knownAncestry[s] ?? 0)) / 2,
    diversity: isPast ? null : diversitySteps(living, { dam: d, sire: s, kinship: value }, offspring),
    living: isPast ? null : living,
    unknown: [...unknownOrigins(dam, sire), ...unknownsOf(snapshot, d, s)],
    warnings: pairWarnings(dam, sire, value, words),
  };
}

function diversitySteps(
  living: Living,
  pair: { dam: number; sire: number; kinship: number },
  offspring: number,
): DiversityStep[] | null {
  const state = diversityOf(living);
  if (state === null) return null;
  const before = geneDiversity(state.populationMeanKinship);
  return Array.from(diversityAfterOffspring(state, pair, offspring), (after, at) => ({
    offspring: at + 1,
    geneDiversity: after,
    change: after - before,
  }));
}

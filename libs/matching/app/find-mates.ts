import { Injectable } from '@nestjs/common';
import { AnimalReadStore, type AnimalView } from '../../animal/index.js';
import { invalidInput, notFound, type Viewer } from '../../kernel/index.js';
import { type Living, LivingPopulation } from '../../lineage/index.js';
import { Clock } from '../../platform/clock.js';
import { TaxonStore } from '../../taxon/index.js';
import { fillFilters, type FilterInput, filterProblems, type MateFilters } from '../core/mate-filters.core.js';
import { fillWeights, type MateWeights, type WeightInput, weightProblems } from '../core/mate-weights.core.js';
import { type MateAnswer, type MateQuestion, searchMates } from '../core/search-mates.core.js';
import { CandidateStore } from '../store/candidate.store.js';
import { CandidatePool } from './candidate-pool.js';
import { mateNumbers } from './mate-numbers.js';

/** What is asked of a search. */
export type MateRequest = {
  readonly animalId: string;
  readonly filters: FilterInput;
  readonly weights: WeightInput | null;
  readonly page: MateQuestion['page'];
};

/** The answer to a search. */
export type MateSearch = {
  readonly animal: AnimalView;
  readonly answer: MateAnswer;
  readonly filters: MateFilters;
  readonly weights: MateWeights;
  readonly living: Living;
};

/** Looks for mates of one animal in every collection that shares. */
@Injectable()
export class FindMates {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly candidates: CandidateStore,
    private readonly pool: CandidatePool,
    private readonly population: LivingPopulation,
    private readonly taxa: TaxonStore,
    private readonly clock: Clock,
  ) {}

  /**
   * Throws NOT_FOUND unless the viewer has or owns the animal, INVALID_INPUT for a lot, an animal that does not live, and
   * filters or weights that make no sense.
   */
  async execute(viewer: Viewer, request: MateRequest): Promise<MateSearch> {
    const today = this.clock.today();
    const filters = fillFilters(request.filters, today);
    const weights = fillWeights(request.weights);
    const problems = [...filterProblems(filters, today), ...weightProblems(weights)];
    if (problems.length > 0) throw invalidInput(problems);
    const animal = await this.getAnimal(viewer, request.animalId);
    const { taxonId } = animal;
    const [candidates, { keepers, ownRegion }, profiles] = await Promise.all([
      this.pool.of(taxonId, filters.on, today),
      this.candidates.findKeepers(viewer),
      this.taxa.profilesOf([taxonId]),
    ]);
    // Read after the candidates, so that whoever was registered before they were read stands in it.
    const living = await this.population.of(taxonId);
    const answer = searchMates(candidates.table, mateNumbers(living, animal.id), {
      animal,
      keepers,
      ownRegion,
      maturity: maturityOf(profiles.get(taxonId)?.maturityDays),
      quarantined: candidates.quarantined,
      quarantinedToday: candidates.quarantinedToday,
      filters,
      weights,
      page: request.page,
    });
    return { animal, answer, filters, weights, living };
  }

  private async getAnimal(viewer: Viewer, animalId: string): Promise<AnimalView> {
    const animal = (await this.animals.findVisible(viewer, [animalId])).get(animalId);
    if (animal === undefined || animal.level !== 'full') throw notFound('animal');
    if (animal.kind === 'lot')
      throw invalid('A lot has no single parentage.', 'Raise an animal out of the lot and ask for that one.');
    if (animal.record?.fate !== 'alive')
      throw invalid('This animal is not recorded as alive and at home.', 'Ask for one that is.');
    return animal;
  }
}

type MaturityBounds = {
  readonly value?: number | undefined;
  readonly min?: number | undefined;
  readonly max?: number | undefined;
};

/** The days of a profile as a search takes them: the rule of `isGrownUp`. */
export function maturityOf(bounds: MaturityBounds | undefined): MateQuestion['maturity'] {
  const least = bounds?.min ?? bounds?.value ?? bounds?.max;
  const typical = bounds?.value ?? bounds?.max ?? bounds?.min;
  if (least === undefined || typical === undefined) return null;
  return { least: Math.round(least), typical: Math.round(typical) };
}

function invalid(message: string, remedy: string) {
  return invalidInput([{ path: 'animalId', message, remedy }]);
}

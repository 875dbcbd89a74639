import { Injectable } from '@nestjs/common';
import { AnimalReadStore, type AnimalView } from '../animal/index.js';
import { kinshipWithAll, UNKNOWN } from '../genetics/index.js';
import { QuarantineReadStore } from '../health/index.js';
import { invalidInput, notFound, type Viewer } from '../kernel/index.js';
import { type Living, LivingPopulation } from '../lineage/index.js';
import { Clock } from '../platform/clock.js';
import { isGrownUp, TaxonStore } from '../taxon/index.js';
import { MateStore } from './mate.store.js';
import { type MateFigures, type RankedMate, rankMates } from './rank-mates.core.js';

/**
 * How many visible animals might have been mates but are not in the list. `notAvailable` are in quarantine or in an open
 * transfer: one number for both, because which of the two is their keeper's affair.
 */
export type LeftOut = { readonly notGrownUp: number; readonly notAvailable: number };

/** The answer to a search. */
export type MateSearch = {
  readonly animal: AnimalView;
  readonly mates: readonly RankedMate[];
  readonly leftOut: LeftOut;
  readonly living: Living;
};

/** Looks for mates of one animal in every collection that shares. */
@Injectable()
export class FindMates {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly mates: MateStore,
    private readonly population: LivingPopulation,
    private readonly taxa: TaxonStore,
    private readonly quarantines: QuarantineReadStore,
    private readonly clock: Clock,
  ) {}

  /** Throws NOT_FOUND unless the viewer has or owns the animal, INVALID_INPUT for a lot or an animal that does not live. */
  async execute(viewer: Viewer, animalId: string): Promise<MateSearch> {
    const animal = (await this.animals.findVisible(viewer, [animalId])).get(animalId);
    if (animal === undefined || animal.level !== 'full') throw notFound('animal');
    if (animal.kind === 'lot')
      throw invalid('A lot has no single parentage.', 'Raise an animal out of the lot and ask for that one.');
    if (animal.record?.fate !== 'alive')
      throw invalid('This animal is not recorded as alive and at home.', 'Ask for one that is.');

    const rows = await this.mates.findCandidates(viewer, {
      animalId,
      taxonId: animal.taxonId,
      lineId: animal.lineId,
      sex: animal.sex,
    });
    const today = this.clock.today();
    const quarantined = await this.quarantines.isInQuarantine(
      rows.map((row) => row.id),
      today,
    );
    const maturity = (await this.taxa.profilesOf([animal.taxonId])).get(animal.taxonId)?.maturityDays;
    const living = await this.population.of(animal.taxonId);
    const figuresOf = figures(living, animalId);

    const leftOut = { notGrownUp: 0, notAvailable: 0 };
    const mates: MateFigures[] = [];
    for (const row of rows) {
      const adult = isGrownUp(row.birth, maturity, today);
      if (quarantined.has(row.id) || row.inOpenTransfer) leftOut.notAvailable += 1;
      else if (adult === 'no') leftOut.notGrownUp += 1;
      else
        mates.push({
          id: row.id,
          registerNumber: row.registerNumber,
          sexKnown: row.sexKnown,
          adult,
          ...figuresOf(row.id),
        });
    }
    return { animal, mates: rankMates(mates, living.populationMeanKinship), leftOut, living };
  }
}

function figures({ snapshot, meanKinship }: Living, animalId: string) {
  const place = (id: string): number => {
    const index = snapshot.indexOf.get(id);
    if (index === undefined) throw new Error('A registered animal is missing from its pedigree.');
    return index;
  };
  const at = (values: Float64Array, index: number): number => values[index] ?? 0;
  const own = place(animalId);
  const kinships = kinshipWithAll(snapshot.pedigree, snapshot.inbreeding, own);
  return (id: string) => {
    const index = place(id);
    return {
      parentless: snapshot.pedigree.sire[index] === UNKNOWN && snapshot.pedigree.dam[index] === UNKNOWN,
      offspringInbreeding: at(kinships, index),
      meanKinship: at(meanKinship, index),
      knownAncestry: (at(snapshot.knownAncestry, own) + at(snapshot.knownAncestry, index)) / 2,
    };
  };
}

function invalid(message: string, remedy: string) {
  return invalidInput([{ path: 'animalId', message, remedy }]);
}

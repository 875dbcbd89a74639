import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { geneDiversity, groupMean } from '../genetics/index.js';
import {
  type Day,
  type FieldProblem,
  holdsOffice,
  invalidInput,
  isRegionCode,
  notFound,
  type Viewer,
} from '../kernel/index.js';
import { LivingPopulation } from '../lineage/index.js';
import { withoutOffice } from '../membership/index.js';
import { Clock } from '../platform/clock.js';
import { groupRows, type TaxonProfile, TaxonStore } from '../taxon/index.js';
import { type Maturity, type StockCount, stockCount } from './regional-stock.core.js';
import { RegionalStockStore, type Selection } from './regional-stock.store.js';

/** The stock of a region: of all its taxa together, and of each by scientific name. */
export type RegionalStock = Selection & {
  readonly total: StockCount;
  readonly taxa: readonly (StockCount & { readonly taxonId: string; readonly name: string })[];
};

/** Genetic state of some living individuals, or why it was not computed. */
export type GeneticState =
  | {
      readonly size: number;
      readonly meanKinship: number;
      readonly geneDiversity: number;
      readonly knownAncestry: number;
      readonly asOf: Day;
    }
  | { readonly whyNot: string };

/** What a coordinator sees of the region: all keepers of the club who show their holdings to coordinators, and nothing of the others. */
@Injectable()
export class ReviewRegion {
  constructor(
    private readonly stock: RegionalStockStore,
    private readonly population: LivingPopulation,
    private readonly taxa: TaxonStore,
    private readonly clock: Clock,
  ) {}

  /**
   * INVALID_INPUT for a region code of the wrong form, a day to come, or days in reverse. Unless one office of the viewer covers
   * club, region and taxon today, FORBIDDEN for those of the club and NOT_FOUND as for a club that does not exist; NOT_FOUND also
   * for an unknown taxon.
   */
  async execute(viewer: Viewer, selection: Selection): Promise<RegionalStock> {
    const problems = problemsOf(selection, this.clock.today());
    if (problems.length > 0) throw invalidInput(problems);
    const { clubId, region, taxonId, since, asOf } = selection;
    if (!holdsOffice(viewer, { clubId, region, taxonId }))
      throw withoutOffice(viewer, clubId, 'Only a coordinator of the region and the taxa reads this.');
    if (
      taxonId !== null &&
      !(z.uuid().safeParse(taxonId).success && (await this.taxa.findMany([taxonId])).has(taxonId))
    )
      throw notFound('taxon');
    const { records, names } = await this.stock.read(selection);
    const maturities = maturitiesOf(await this.taxa.profilesOf([...names.keys()]));
    const taxa = [...groupRows(records, (record) => record.taxonId)]
      .map(([id, group]) => ({ taxonId: id, name: names.get(id) ?? '', ...stockCount(group, maturities, since, asOf) }))
      .toSorted((a, b) => (a.name < b.name ? -1 : 1));
    return { ...selection, total: stockCount(records, maturities, since, asOf), taxa };
  }

  /** Of the individuals of one taxon in a closing stock. Lineage and the living are known as of today only. */
  async geneticState(taxonId: string, individuals: readonly string[], asOf: Day): Promise<GeneticState> {
    if (asOf !== this.clock.today())
      return { whyNot: 'Kinship is computed for today only. Ask with today as the last day.' };
    if (individuals.length === 0)
      return { whyNot: 'No living individual is in this stock; a lot has no single set of genes.' };
    const living = await this.population.of(taxonId, individuals);
    const { populationMeanKinship: meanKinship, snapshot, group, size } = living;
    if (meanKinship === null) throw new Error('A registered animal is missing from its pedigree.');
    return {
      size,
      meanKinship,
      geneDiversity: geneDiversity(meanKinship),
      knownAncestry: groupMean(snapshot.knownAncestry, group),
      asOf: living.asOf,
    };
  }
}

function maturitiesOf(profiles: ReadonlyMap<string, TaxonProfile>): Map<string, Maturity> {
  return new Map(
    [...profiles].flatMap(([id, { maturityDays }]) => {
      const from = maturityDays?.min ?? maturityDays?.value ?? maturityDays?.max;
      const to = maturityDays?.max ?? maturityDays?.value ?? maturityDays?.min;
      return from === undefined || to === undefined ? [] : [[id, { from: Math.round(from), to: Math.round(to) }]];
    }),
  );
}

function problemsOf({ region, since, asOf }: Selection, today: Day): FieldProblem[] {
  const problems: FieldProblem[] = [];
  if (!isRegionCode(region)) {
    problems.push({
      path: 'region',
      message: 'This is not a region code.',
      remedy: 'Write it like AT-7 (ISO 3166-2), in capital letters.',
    });
  }
  if (asOf > today) {
    problems.push({ path: 'asOf', message: `${asOf} is still to come.`, remedy: 'Name today or an earlier day.' });
  }
  if (since > asOf) {
    problems.push({
      path: 'since',
      message: 'The review ends before it begins.',
      remedy: 'Name a day on or before `asOf`.',
    });
  }
  return problems;
}

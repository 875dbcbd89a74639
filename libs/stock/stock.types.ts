import { Field, Float, ID, Int, ObjectType } from '@nestjs/graphql';
import { type Day } from '../kernel/index.js';
import { Connection, DayType } from '../platform/graphql/index.js';
import { type StockCount, writeSexes } from './regional-stock.core.js';
import { type RegionalStock } from './review-region.js';

@ObjectType('StockCount', {
  description:
    'Counted in animals. `opening + births + arrivals − deaths − departures + unaccounted = closing`. Sex, age and origin class are those of the closing stock, as known today.',
})
export class StockCountType {
  @Field(() => Int, { description: 'At the end of the day before `since`.' })
  opening!: number;

  @Field(() => Int, { description: 'Hatched or born with a keeper of the region.' })
  births!: number;

  @Field(() => Int, {
    description: 'From outside the shown stock of the region, or brought by a keeper who joined the club.',
  })
  arrivals!: number;

  @Field(() => Int)
  deaths!: number;

  @Field(() => Int, {
    description: 'To outside the shown stock of the region, missing, or taken along by a keeper who left the club.',
  })
  departures!: number;

  @Field(() => Int, { description: 'At the end of `asOf`, counted, not derived.' })
  closing!: number;

  @Field(() => Int, {
    description: 'What the movements leave unexplained, such as a corrected count; shown, never mended.',
  })
  unaccounted!: number;

  @Field(() => String, { description: 'males.females.unsexed, for example `2.3.1`; animals of a lot are unsexed.' })
  sexes!: string;

  @Field(() => Int)
  males!: number;

  @Field(() => Int)
  females!: number;

  @Field(() => Int)
  unsexed!: number;

  @Field(() => Int, { description: 'Younger than the taxon’s bound of maturity.' })
  juveniles!: number;

  @Field(() => Int)
  adults!: number;

  @Field(() => Int, { description: 'Birth or bound not known, or the birth too uncertain to tell.' })
  ageNotKnown!: number;

  @Field(() => Int)
  bred!: number;

  @Field(() => Int)
  wild!: number;

  @Field(() => Int)
  ranched!: number;

  @Field(() => Int)
  originNotKnown!: number;

  @Field(() => Int, { description: 'How many keepers have some of the closing stock.' })
  keepers!: number;
}

@ObjectType('StockGenetics', {
  description: 'Of the living individuals of this taxon in this stock, as their own reference population.',
})
export class StockGeneticsType {
  @Field(() => Int, { nullable: true, description: 'Individuals; lots are left out.' })
  size!: number | null;

  @Field(() => Float, { nullable: true, description: 'Average kinship of all pairs, each with itself included.' })
  meanKinship!: number | null;

  @Field(() => Float, { nullable: true, description: '1 − mean kinship.' })
  geneDiversity!: number | null;

  @Field(() => Float, { nullable: true, description: 'Mean share of ancestry that leads back to founders, 0 to 1.' })
  knownAncestry!: number | null;

  @Field(() => DayType, { nullable: true })
  asOf!: Day | null;

  @Field(() => String, { nullable: true, description: 'Why there are no numbers; null when there are.' })
  whyNot!: string | null;
}

@ObjectType('TaxonStock')
export class TaxonStockType {
  @Field(() => StockCountType)
  count!: StockCountType;

  /** Not part of the schema: what `taxon` and `genetics` are looked up by. */
  taxonId!: string;
  individuals!: readonly string[];
  asOf!: Day;
}

export const TaxonStockConnection = Connection(TaxonStockType, 'TaxonStock');

@ObjectType('RegionalStock', {
  description:
    'What keepers of a club have in a region, as far as they show their holdings to coordinators; others are in none of its numbers. Region and audience are as chosen today, membership as on each day. A coordinator sees these keepers, so small numbers are shown as they are.',
})
export class RegionalStockType {
  @Field(() => ID)
  clubId!: string;

  @Field(() => String, { description: 'ISO 3166-2.' })
  region!: string;

  @Field(() => DayType)
  since!: Day;

  @Field(() => DayType, { description: 'Its end of day.' })
  asOf!: Day;

  @Field(() => StockCountType, { description: 'All taxa asked for, together.' })
  total!: StockCountType;

  /** Not part of the schema: what `taxa` is paged from. */
  stock!: RegionalStock;
}

/** GraphQL form of a count. */
export function toStockCount(count: StockCount): StockCountType {
  const { sexes, ages, origins, opening, births, arrivals, deaths, departures, closing, unaccounted, keepers } = count;
  return {
    opening,
    births,
    arrivals,
    deaths,
    departures,
    closing,
    unaccounted,
    sexes: writeSexes(sexes),
    males: sexes.male,
    females: sexes.female,
    unsexed: sexes.unsexed,
    juveniles: ages.juvenile,
    adults: ages.adult,
    ageNotKnown: ages.notKnown,
    bred: origins.bred,
    wild: origins.wild,
    ranched: origins.ranched,
    originNotKnown: origins.unknown,
    keepers,
  };
}

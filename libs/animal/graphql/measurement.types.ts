import { Field, Float, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { type Fact } from '../core/fact.core.js';
import { type GrowthPoint } from '../core/growth.core.js';
import { measurementOf, type SeriesKey, UNIT_KEPT } from '../core/measurement.core.js';
import { WarningType } from './animal.types.js';

export enum QuantityType {
  weight = 'weight',
  length = 'length',
  temperature = 'temperature',
}
registerEnumType(QuantityType, { name: 'Quantity' });

export enum MeasureUnitType {
  g = 'g',
  kg = 'kg',
  mm = 'mm',
  cm = 'cm',
  m = 'm',
  celsius = 'celsius',
}
registerEnumType(MeasureUnitType, { name: 'MeasureUnit' });

export enum LengthMeasureType {
  total = 'total',
  snout_vent = 'snout_vent',
  tail = 'tail',
  head_length = 'head_length',
  head_body = 'head_body',
  carapace_straight = 'carapace_straight',
  carapace_curved = 'carapace_curved',
  carapace_width = 'carapace_width',
  plastron = 'plastron',
  wing_chord = 'wing_chord',
  tarsus = 'tarsus',
  bill = 'bill',
  forearm = 'forearm',
  hind_foot = 'hind_foot',
  standard = 'standard',
  fork = 'fork',
}
registerEnumType(LengthMeasureType, {
  name: 'LengthMeasure',
  description: 'Along what a length is measured.',
  valuesMap: {
    total: { description: 'From the tip of the head to the end of the tail.' },
    snout_vent: { description: 'From the tip of the snout to the vent, without the tail.' },
    head_body: { description: 'Of a mammal, without the tail.' },
    carapace_straight: { description: 'Along the straight line, with callipers.' },
    carapace_curved: { description: 'Over the shell, with a tape.' },
    wing_chord: { description: 'From the bend of the folded wing to the tip of the longest primary.' },
    standard: { description: 'Of a fish, without the tail fin.' },
    fork: { description: 'Of a fish, to the fork of the tail fin.' },
  },
});

export enum TemperaturePlaceType {
  animal = 'animal',
  enclosure = 'enclosure',
}
registerEnumType(TemperaturePlaceType, { name: 'TemperaturePlace', description: 'What a temperature was read from.' });

@InputType({ description: 'A measurement with its unit.' })
export class MeasurementInput {
  @Field(() => QuantityType)
  quantity!: QuantityType;

  @Field(() => Float)
  value!: number;

  @Field(() => MeasureUnitType)
  unit!: MeasureUnitType;

  @Field(() => LengthMeasureType, { nullable: true, description: 'Of a length, and only of one.' })
  measure?: LengthMeasureType | null;

  @Field(() => TemperaturePlaceType, { nullable: true, description: 'Of a temperature; the animal when left out.' })
  of?: TemperaturePlaceType | null;
}

@ObjectType('Measurement')
export class MeasurementType {
  @Field(() => ID, { description: 'The fact.' })
  id!: string;

  @Field(() => QuantityType)
  quantity!: QuantityType;

  @Field(() => Float)
  value!: number;

  @Field(() => MeasureUnitType, { description: 'Weights are in g, lengths in mm, whatever they were written in.' })
  unit!: MeasureUnitType;

  @Field(() => LengthMeasureType, { nullable: true })
  measure!: LengthMeasureType | null;

  @Field(() => TemperaturePlaceType, { nullable: true })
  of!: TemperaturePlaceType | null;

  @Field(() => String, { nullable: true, description: 'EDTF; null when the day is not known.' })
  edtf!: string | null;
}

export const MeasurementConnection = Connection(MeasurementType, 'Measurement');

/** GraphQL form of a fact that measures something, or null for one that does not. */
export function toMeasurementType(fact: Fact): MeasurementType | null {
  const measured = measurementOf(fact);
  if (measured === null) return null;
  return { id: fact.id, value: measured.value, edtf: fact.when?.edtf ?? null, ...toSeriesFields(measured) };
}

/** What is measured, along or from what, and the unit it is shown in. */
export function toSeriesFields({ quantity, measure, of }: SeriesKey) {
  return {
    quantity: QuantityType[quantity],
    unit: MeasureUnitType[UNIT_KEPT[quantity]],
    measure: measure === null ? null : LengthMeasureType[measure],
    of: of === null ? null : TemperaturePlaceType[of],
  };
}

@ObjectType('GrowthPoint', { description: 'One day of a series.' })
export class GrowthPointType {
  @Field(() => DayType)
  day!: Day;

  @Field(() => Float, { description: 'The median where there are several measurements of the day.' })
  value!: number;

  @Field(() => Int, { description: 'Measurements of the day.' })
  count!: number;

  @Field(() => Float, { nullable: true, description: 'Since the day before in the series, in the unit, a day.' })
  changePerDay!: number | null;

  @Field(() => Float, {
    nullable: true,
    description: 'The same as a share of the value before: 0.01 is one percent a day. Null for temperatures.',
  })
  relativeChangePerDay!: number | null;

  @Field(() => [WarningType])
  warnings!: WarningType[];
}

@ObjectType('Growth', { description: 'The measurements of one quantity of an animal over the days.' })
export class GrowthType {
  @Field(() => QuantityType)
  quantity!: QuantityType;

  @Field(() => MeasureUnitType)
  unit!: MeasureUnitType;

  @Field(() => LengthMeasureType, { nullable: true })
  measure!: LengthMeasureType | null;

  @Field(() => TemperaturePlaceType, { nullable: true })
  of!: TemperaturePlaceType | null;

  @Field(() => [GrowthPointType], {
    description: 'Earliest first; of a longer series the last 1000 days, judged without those before.',
  })
  points!: GrowthPointType[];

  @Field(() => Int, { description: 'Measurements without an exact day, which have no place in the series.' })
  withoutDay!: number;
}

/** Most days of a curve. */
export const MAX_POINTS = 1000;

/** GraphQL form of the curve of a series. */
export function toGrowthType(series: SeriesKey, points: readonly GrowthPoint[], withoutDay: number): GrowthType {
  return {
    ...toSeriesFields(series),
    points: points.slice(-MAX_POINTS).map(({ day, value, count, changePerDay, relativeChangePerDay, warnings }) => ({
      day,
      value,
      count,
      changePerDay,
      relativeChangePerDay,
      warnings: [...warnings],
    })),
    withoutDay,
  };
}

import { Field, ID, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { type FactVersion } from '../core/correction.core.js';
import { type FactBody } from '../core/fact.core.js';
import { FateType, OriginClassType, SexType } from './animal.enums.js';
import { BirthType } from './animal.types.js';
import { MarkType } from './mark.types.js';
import { MeasurementType, toMeasurementType } from './measurement.types.js';

@ObjectType('RecordAsOf', { description: 'What was believed at a moment about an animal on a day.' })
export class RecordAsOfType {
  @Field(() => Date, { nullable: true, description: 'The moment; null = now.' })
  asKnownAt!: Date | null;

  @Field(() => DayType, { nullable: true, description: 'The day; null = all of its life.' })
  asOf!: Day | null;

  @Field(() => Boolean, {
    nullable: true,
    description: 'Whether it was born by that day; null = the dates leave it open.',
  })
  born!: boolean | null;

  @Field(() => String, { nullable: true })
  name!: string | null;

  @Field(() => SexType)
  sex!: SexType;

  @Field(() => BirthType, { nullable: true })
  birth!: BirthType | null;

  @Field(() => OriginClassType)
  originClass!: OriginClassType;

  @Field(() => Boolean)
  isHybrid!: boolean;

  @Field(() => FateType, { description: 'What it had surely come to by then.' })
  fate!: FateType;

  @Field(() => String, { nullable: true, description: 'When, EDTF.' })
  fateEdtf!: string | null;

  @Field(() => FateType, { nullable: true, description: 'What it may have come to by then: the days leave it open.' })
  fatePossibly!: FateType | null;

  @Field(() => DayType, { nullable: true, description: 'The last day on which it was surely there.' })
  lastSeenOn!: Day | null;

  @Field(() => [MarkType], { description: 'Marks on it then.' })
  marks!: MarkType[];

  /** Not part of the schema. */
  events!: readonly FactVersion[];
}

export enum FactKindType {
  birth = 'birth',
  sex = 'sex',
  origin = 'origin',
  acquisition = 'acquisition',
  name = 'name',
  seen = 'seen',
  fate = 'fate',
  weight = 'weight',
  length = 'length',
  temperature = 'temperature',
  note = 'note',
  trait = 'trait',
  hybrid = 'hybrid',
}
registerEnumType(FactKindType, { name: 'FactKind' });

@ObjectType('FactVersion', { description: 'A fact as it was recorded, and what became of it.' })
export class FactVersionType {
  @Field(() => ID)
  id!: string;

  @Field(() => FactKindType)
  kind!: FactKindType;

  @Field(() => String, { description: 'What it says, in words.' })
  says!: string;

  @Field(() => MeasurementType, { nullable: true, description: 'Of a measurement.' })
  measurement!: MeasurementType | null;

  @Field(() => String, { nullable: true, description: 'When it was so, EDTF; null when not known.' })
  edtf!: string | null;

  @Field(() => Date)
  recordedAt!: Date;

  @Field(() => ID, { description: 'The keeper on whose behalf it was recorded.' })
  keeperId!: string;

  @Field(() => Boolean)
  inForce!: boolean;

  @Field(() => Date, { nullable: true })
  supersededAt!: Date | null;

  @Field(() => ID, {
    nullable: true,
    description: 'The fact in its place; null where it was taken back, or is in force.',
  })
  supersededBy!: string | null;

  @Field(() => String, { nullable: true, description: 'Why it was superseded.' })
  reason!: string | null;

  @Field(() => ID, { nullable: true, description: 'The earlier fact that it says again.' })
  restores!: string | null;
}

export const FactVersionConnection = Connection(FactVersionType, 'FactVersion');

/** GraphQL form of a version of a fact. */
export function toFactVersionType(fact: FactVersion): FactVersionType {
  return {
    id: fact.id,
    kind: FactKindType[fact.kind],
    says: inWords(fact),
    measurement: toMeasurementType(fact),
    edtf: fact.when?.edtf ?? null,
    recordedAt: fact.recordedAt,
    keeperId: fact.keeperId,
    inForce: fact.supersededAt === null,
    supersededAt: fact.supersededAt,
    supersededBy: fact.supersededBy,
    reason: fact.reason,
    restores: fact.restoresId,
  };
}

/** What a fact says, in a few words: `42.5 g`, `female (probing, likely)`. */
function inWords(fact: FactBody): string {
  const words = (text: string): string => text.replaceAll('_', ' ');
  const aside = (...more: readonly (string | undefined)[]): string => {
    const said = more.filter((each) => each !== undefined);
    return said.length === 0 ? '' : ` (${said.join(', ')})`;
  };
  switch (fact.kind) {
    case 'birth':
      return words(fact.body.manner);
    case 'sex':
      return `${fact.body.sex}${aside(fact.body.method, fact.body.confidence)}`;
    case 'origin':
      return `${fact.body.originClass}${aside(fact.body.statedBy)}`;
    case 'acquisition':
      return `${words(fact.body.manner)}${aside(fact.body.country, fact.body.statedBy)}`;
    case 'name':
      return fact.body.name;
    case 'seen':
      return 'seen alive';
    case 'fate':
      return `${words(fact.body.fate)}${aside(fact.body.cause, fact.body.certainty, fact.body.foundBy)}`;
    case 'weight':
      return `${fact.body.grams} g`;
    case 'length':
      return `${fact.body.millimetres} mm (${words(fact.body.measure)})`;
    case 'temperature':
      return `${fact.body.celsius} °C (${fact.body.of})`;
    case 'note':
      return fact.body.text;
    case 'trait':
      return `${fact.body.gene}: ${fact.body.state}${aside(words(fact.body.basis), fact.body.certainty, fact.body.statedBy)}`;
    case 'hybrid':
      return fact.body.of.length === 0 ? 'no hybrid' : `hybrid of ${fact.body.of.join(' and ')}`;
  }
}

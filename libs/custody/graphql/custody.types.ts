import { Field, ID, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { type StockBook } from '../core/stock-book.core.js';

export enum HolderKindType {
  keeper = 'keeper',
  carrier = 'carrier',
  veterinarian = 'veterinarian',
  authority = 'authority',
  outside_party = 'outside_party',
  unknown = 'unknown',
}
registerEnumType(HolderKindType, { name: 'HolderKind' });

@ObjectType('Holder', { description: 'Who has an animal now.' })
export class HolderType {
  @Field(() => HolderKindType)
  kind!: HolderKindType;

  @Field(() => String)
  label!: string;

  @Field(() => ID, { nullable: true })
  keeperId!: string | null;
}

@ObjectType('AnimalShare', { description: 'A part of one whole animal: 1 of 2 is a half.' })
export class AnimalShareType {
  @Field(() => Int)
  parts!: number;

  @Field(() => Int)
  of!: number;
}

@ObjectType('AnimalOwnership', {
  description: 'Whose an animal is now, by the record; other owners are counted and not named.',
})
export class AnimalOwnershipType {
  @Field(() => DayType)
  since!: Day;

  @Field(() => AnimalShareType, {
    nullable: true,
    description: 'The share of own keepers; null: none of it is theirs.',
  })
  own!: AnimalShareType | null;

  @Field(() => Int, { description: 'How many others own a share.' })
  others!: number;

  @Field(() => Boolean, { description: 'The owners disagree; until it is settled it is as it was before.' })
  disputed!: boolean;
}

export enum StockCauseType {
  registered = 'registered',
  born = 'born',
  received = 'received',
  split = 'split',
  raised = 'raised',
  joined = 'joined',
  taken_up = 'taken_up',
  returned = 'returned',
  found = 'found',
  lost = 'lost',
  given = 'given',
  died = 'died',
  missing = 'missing',
  stolen = 'stolen',
  escaped = 'escaped',
  seized = 'seized',
  surrendered = 'surrendered',
  left_registry = 'left_registry',
  merged = 'merged',
}
registerEnumType(StockCauseType, { name: 'StockCause', description: 'Why animals came or went.' });

@ObjectType('StockBookEntry')
export class StockBookEntryType {
  @Field(() => DayType)
  day!: Day;

  @Field(() => ID)
  animalId!: string;

  @Field(() => String)
  registerNumber!: string;

  @Field(() => Int)
  count!: number;

  @Field(() => Boolean)
  estimated!: boolean;

  @Field(() => StockCauseType)
  cause!: StockCauseType;

  @Field(() => String, { nullable: true, description: 'Who it came from or went to; seen in this book only.' })
  counterparty!: string | null;
}

export const StockBookEntryConnection = Connection(StockBookEntryType, 'StockBookEntry');

@ObjectType('StockBook', {
  description: 'Arrivals and departures of a keeper. `opening + arrived − departed + unaccounted = closing`.',
})
export class StockBookType {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => DayType)
  from!: Day;

  @Field(() => DayType, { description: 'Its end of day.' })
  asOf!: Day;

  @Field(() => Int, { description: 'Animals at the end of the day before `from`.' })
  opening!: number;

  @Field(() => Int)
  arrived!: number;

  @Field(() => Int)
  departed!: number;

  @Field(() => Int, { description: 'Animals at the end of `asOf`, counted, not derived.' })
  closing!: number;

  @Field(() => Int, { description: 'What arrivals and departures leave unexplained; shown, never mended.' })
  unaccounted!: number;

  /** Not part of the schema: what the lists are paged from. */
  book!: StockBook;
}

import { Field, ID, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { type LotChangeRow } from '../store/lot-change-page.store.js';

export enum LotCauseType {
  opening = 'opening',
  split_out = 'split_out',
  split_in = 'split_in',
  joined_in = 'joined_in',
  joined_out = 'joined_out',
  raised_out = 'raised_out',
  died = 'died',
  missing = 'missing',
  stolen = 'stolen',
  escaped = 'escaped',
  found = 'found',
  corrected = 'corrected',
}
registerEnumType(LotCauseType, {
  name: 'LotCause',
  description: 'How the count of a lot changed.',
  valuesMap: {
    opening: { description: 'What it began with.' },
    corrected: { description: 'It was counted anew.' },
  },
});

@ObjectType('LotChange', { description: 'A change of a lot’s count as it was recorded, and what became of it.' })
export class LotChangeType {
  @Field(() => ID)
  id!: string;

  @Field(() => LotCauseType)
  cause!: LotCauseType;

  @Field(() => Int, { description: 'What came is positive, what went negative.' })
  delta!: number;

  @Field(() => Boolean)
  estimated!: boolean;

  @Field(() => DayType)
  on!: Day;

  @Field(() => Date)
  recordedAt!: Date;

  @Field(() => Date, { nullable: true, description: 'When it was corrected or taken back; null while it is in force.' })
  supersededAt!: Date | null;

  @Field(() => ID, { nullable: true, description: 'The version that took its place; null where it was taken back.' })
  supersededBy!: string | null;

  @Field(() => String, { nullable: true, description: 'Why it was corrected or taken back.' })
  supersededBecause!: string | null;
}

export const LotChangeConnection = Connection(LotChangeType, 'LotChange');

export function toLotChangeType({ cause, ...row }: LotChangeRow): LotChangeType {
  return { ...row, cause: LotCauseType[cause] };
}

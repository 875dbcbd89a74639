import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import {
  AnimalType,
  BirthMannerType,
  CertaintyType,
  MarkInput,
  OriginClassType,
  SexType,
  WarningType,
} from '../../animal/index.js';
import { type Day } from '../../kernel/index.js';
import { ClaimWarningType, ParentageBasisType, ParentCandidateInput } from '../../lineage/index.js';
import { DayType, UncertainDayInputType, type UncertainDayValue } from '../../platform/graphql/index.js';

export enum RegisterReasonType {
  registered = 'registered',
  born = 'born',
}
registerEnumType(RegisterReasonType, {
  name: 'RegisterReason',
  valuesMap: {
    registered: { description: 'The keeper has it already.' },
    born: { description: 'It hatched or was born with the keeper.' },
  },
});

@InputType()
export class BirthInput {
  @Field(() => UncertainDayInputType, { description: 'The day, roughly or exactly, or how old it was.' })
  edtf!: UncertainDayValue;

  @Field(() => BirthMannerType)
  manner!: BirthMannerType;
}

/** What both kinds of records have in common. */
@InputType({ isAbstract: true })
class StockInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => ID)
  taxonId!: string;

  @Field(() => ID, { nullable: true })
  lineId?: string | null;

  @Field(() => String, { nullable: true })
  name?: string | null;

  @Field(() => BirthInput, { nullable: true })
  birth?: BirthInput | null;

  @Field(() => OriginClassType, { nullable: true })
  originClass?: OriginClassType | null;

  @Field(() => ID, { nullable: true })
  sireId?: string | null;

  @Field(() => ID, { nullable: true })
  damId?: string | null;

  @Field(() => [ParentCandidateInput], { nullable: true, description: '2 to 20 possible sires, in place of `sireId`.' })
  sireCandidates?: ParentCandidateInput[] | null;

  @Field(() => [ParentCandidateInput], { nullable: true, description: '2 to 20 possible dams, in place of `damId`.' })
  damCandidates?: ParentCandidateInput[] | null;

  @Field(() => Boolean, { nullable: true, description: 'It developed without a sire; see `RecordParentInput`.' })
  withoutSire?: boolean | null;

  @Field(() => ParentageBasisType, {
    nullable: true,
    description: 'What both parents rest on; declared when left out.',
  })
  parentsBasis?: ParentageBasisType | null;

  @Field(() => Boolean, {
    nullable: true,
    description: 'Its line begins with it in this registry. A wild origin without parents says so too.',
  })
  founder?: boolean | null;

  @Field(() => DayType, { nullable: true, description: 'The day since which the keeper has it; today when left out.' })
  since?: Day | null;

  @Field(() => RegisterReasonType, { nullable: true, description: '`registered` when left out.' })
  arrivedBy?: RegisterReasonType | null;
}

@InputType()
export class RegisterAnimalInput extends StockInput {
  @Field(() => SexType, { nullable: true })
  sex?: SexType | null;

  @Field(() => [MarkInput], { nullable: true, description: 'At most 20.' })
  marks?: MarkInput[] | null;
}

@InputType()
export class RegisterLotInput extends StockInput {
  @Field(() => Int)
  count!: number;

  @Field(() => Boolean, { nullable: true, description: 'True when the number is a guess.' })
  estimated?: boolean | null;
}

@ObjectType()
export class RegisterAnimalPayload {
  @Field(() => AnimalType)
  animal!: AnimalType;

  @Field(() => [WarningType])
  warnings!: WarningType[];

  @Field(() => [ClaimWarningType], { description: 'What is worth knowing of its parents.' })
  parentWarnings!: ClaimWarningType[];
}

@ObjectType()
export class RegisterLotPayload {
  @Field(() => AnimalType)
  lot!: AnimalType;

  @Field(() => [ClaimWarningType], { description: 'What is worth knowing of its parents.' })
  parentWarnings!: ClaimWarningType[];
}

@InputType()
export class SplitLotInput {
  @Field(() => ID)
  lotId!: string;

  @Field(() => Int)
  count!: number;

  @Field(() => DayType, { nullable: true, description: 'Today when left out.' })
  on?: Day | null;
}

@ObjectType()
export class SplitLotPayload {
  @Field(() => AnimalType, { description: 'What stayed behind.' })
  lot!: AnimalType;

  @Field(() => AnimalType, { description: 'The new record.' })
  newLot!: AnimalType;
}

@InputType()
export class RecordDeathInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => DayType, { nullable: true, description: 'Today when left out.' })
  on?: Day | null;

  @Field(() => UncertainDayInputType, {
    nullable: true,
    description: 'Instead of `on` where the day is not certain; the stock book follows the latest day it can be.',
  })
  when?: UncertainDayValue | null;

  @Field(() => String, { nullable: true })
  cause?: string | null;

  @Field(() => CertaintyType, { nullable: true, description: 'How surely it is dead.' })
  certainty?: CertaintyType | null;

  @Field(() => Int, { nullable: true, description: 'For a lot: how many died.' })
  count?: number | null;
}

@ObjectType()
export class RecordDeathPayload {
  @Field(() => AnimalType)
  animal!: AnimalType;
}

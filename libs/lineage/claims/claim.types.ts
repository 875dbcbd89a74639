import { Field, Float, GraphQLISODateTime, ID, InputType, ObjectType } from '@nestjs/graphql';
import { AnimalType } from '../../animal/index.js';
import {
  Connection,
  UncertainDayInputType,
  UncertainDayType,
  type UncertainDayValue,
} from '../../platform/graphql/index.js';
import { ParentageBasisType, ParentRoleType } from '../questions/lineage.types.js';

@InputType({ description: 'A possible parent.' })
export class ParentCandidateInput {
  @Field(() => ID)
  parentId!: string;

  @Field(() => Float, { description: 'Above 0; those of one parent’s place sum to 1.' })
  probability!: number;
}

@InputType({ description: 'Give `parentId`, `candidates` or `withoutSire`; none of them = not known after all.' })
export class RecordParentInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => ParentRoleType)
  role!: ParentRoleType;

  @Field(() => ID, { nullable: true, description: 'The one parent, where it is certain.' })
  parentId?: string | null;

  @Field(() => [ParentCandidateInput], {
    nullable: true,
    description: '2 to 20 possible parents: group housing, stored sperm.',
  })
  candidates?: ParentCandidateInput[] | null;

  @Field(() => Boolean, {
    nullable: true,
    description: 'For the role sire: it developed without one. Only where the profile of the taxon knows of it.',
  })
  withoutSire?: boolean | null;

  @Field(() => ParentageBasisType, { nullable: true, description: 'Declared when left out.' })
  basis?: ParentageBasisType | null;

  @Field(() => String, {
    nullable: true,
    description: 'What it rests on, in words; shown to those who have or own the animal.',
  })
  evidence?: string | null;

  @Field(() => UncertainDayInputType, { nullable: true, description: 'When that was.' })
  when?: UncertainDayValue | null;

  @Field(() => String, { nullable: true, description: 'Needed where another claim on this parent is in force.' })
  reason?: string | null;
}

@ObjectType('ClaimWarning', { description: 'Worth knowing of a claim or a merge; nothing was refused.' })
export class ClaimWarningType {
  @Field(() => String)
  code!: string;

  @Field(() => String)
  message!: string;

  @Field(() => String, {
    nullable: true,
    description: 'Who gives the numbers it rests on; null where it rests on records.',
  })
  source!: string | null;

  @Field(() => ID, { nullable: true, description: 'The parent it is about.' })
  parentId!: string | null;
}

@ObjectType()
export class RecordParentPayload {
  @Field(() => AnimalType)
  animal!: AnimalType;

  @Field(() => [ClaimWarningType])
  warnings!: ClaimWarningType[];
}

@ObjectType('ParentCandidate', { description: 'One that is not shown to the viewer stands here without identity.' })
export class ParentCandidateType {
  @Field(() => Float)
  probability!: number;

  @Field(() => Boolean, { description: 'Whether the viewer may see which animal it is.' })
  shown!: boolean;

  @Field(() => AnimalType, { nullable: true })
  animal!: AnimalType | null;
}

@ObjectType('ParentageClaim', { description: 'What is said of one parent. No claim in force = not known.' })
export class ParentageClaimType {
  @Field(() => ID)
  id!: string;

  @Field(() => ParentRoleType)
  role!: ParentRoleType;

  @Field(() => ParentageBasisType)
  basis!: ParentageBasisType;

  @Field(() => Boolean, { description: 'True: it developed without a sire.' })
  withoutSire!: boolean;

  @Field(() => [ParentCandidateType], { description: 'Most probable first; their probabilities sum to 1.' })
  candidates!: ParentCandidateType[];

  @Field(() => UncertainDayType, { nullable: true, description: 'When what it rests on was.' })
  when!: UncertainDayType | null;

  @Field(() => String, { nullable: true, description: 'What it rests on; for those who have or own the animal.' })
  evidence!: string | null;

  @Field(() => GraphQLISODateTime)
  recordedAt!: Date;

  @Field(() => GraphQLISODateTime, { nullable: true, description: 'Null while it is in force.' })
  supersededAt!: Date | null;

  @Field(() => String, { nullable: true, description: 'Why it was superseded.' })
  reason!: string | null;
}

export const ParentageClaimConnection = Connection(ParentageClaimType, 'ParentageClaim');

@InputType()
export class DeclareFounderInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => Boolean, { description: 'False takes the declaration back.' })
  founder!: boolean;

  @Field(() => String, { description: 'Why it is declared or taken back.' })
  reason!: string;
}

@ObjectType()
export class DeclareFounderPayload {
  @Field(() => AnimalType)
  animal!: AnimalType;
}

import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { formatRegisterNumber, type Day, type RegisterNumber } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { animalState, groupState, type QuarantineState } from '../core/quarantine.core.js';
import { type StoredQuarantine } from '../store/quarantine-read.store.js';

export enum RestartScopeType {
  order = 'order',
  class = 'class',
  any = 'any',
}
registerEnumType(RestartScopeType, {
  name: 'RestartScope',
  description:
    'Which newcomers start the days of an animal in the group anew: those of its order, of its class, or any.',
});

export enum QuarantineStateType {
  not_yet = 'not_yet',
  in_quarantine = 'in_quarantine',
  ended = 'ended',
  released_early = 'released_early',
  left = 'left',
}
registerEnumType(QuarantineStateType, {
  name: 'QuarantineState',
  description: '`left`: died or handed over before the days were over.',
});

/** Day fields that a state gives rise to. */
type StateFields = { state: QuarantineStateType; until: Day | null; since: Day | null };

@ObjectType('QuarantineEntry', { description: 'The stay of an animal in a group.' })
export class QuarantineEntryType {
  @Field(() => ID)
  animalId!: string;

  @Field(() => String)
  registerNumber!: string;

  @Field(() => DayType)
  enteredOn!: Day;

  @Field(() => DayType, { nullable: true, description: 'When it was released, handed over or died.' })
  leftOn!: Day | null;

  @Field(() => QuarantineStateType, { description: 'Today; of its latest stay in the group.' })
  state!: QuarantineStateType;

  @Field(() => DayType, { nullable: true, description: 'While in quarantine: the first day out of it.' })
  until!: Day | null;

  @Field(() => DayType, { nullable: true, description: 'Since when it is out of quarantine.' })
  since!: Day | null;
}

@ObjectType('QuarantineGroup', { description: 'Animals of a keeper that are kept apart together.' })
export class QuarantineGroupType {
  @Field(() => ID)
  id!: string;

  @Field(() => ID)
  keeperId!: string;

  @Field(() => String)
  name!: string;

  @Field(() => Int, { description: 'Counted from the latest entry that restarts the clock, which is day 0.' })
  days!: number;

  @Field(() => String, { description: 'Who says how many.' })
  daysSource!: string;

  @Field(() => RestartScopeType)
  restartScope!: RestartScopeType;

  @Field(() => Date)
  openedAt!: Date;

  @Field(() => ID, { nullable: true, description: 'The transfer whose arrival opened it.' })
  transferId!: string | null;

  @Field(() => QuarantineStateType, { description: 'Today.' })
  state!: QuarantineStateType;

  @Field(() => DayType, {
    nullable: true,
    description: 'While in quarantine: the first day on which the last animal is out of it.',
  })
  until!: Day | null;

  @Field(() => DayType, { nullable: true, description: 'Since when everybody is out of quarantine.' })
  since!: Day | null;

  @Field(() => String, { nullable: true, description: 'Why it was released before the days were over.' })
  releaseReason!: string | null;

  @Field(() => [QuarantineEntryType], { description: 'In the order of entering.' })
  entries!: QuarantineEntryType[];
}

export const QuarantineGroupConnection = Connection(QuarantineGroupType, 'QuarantineGroup');

@ObjectType('QuarantineReference', { description: 'Which group.' })
export class QuarantineReferenceType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  name!: string;
}

@ObjectType('AnimalQuarantine', { description: 'The quarantine an animal is in.' })
export class AnimalQuarantineType {
  @Field(() => DayType, { description: 'The first day out of it.' })
  until!: Day;

  @Field(() => QuarantineReferenceType, { nullable: true, description: 'For those who have or own the animal.' })
  group!: QuarantineReferenceType | null;
}

@InputType()
export class OpenQuarantineInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => [ID], { description: 'At most 100.' })
  animalIds!: string[];

  @Field(() => DayType)
  enteredOn!: Day;

  @Field(() => Int, { nullable: true, description: 'The longest rule among the species when left out.' })
  days?: number | null;

  @Field(() => RestartScopeType, { nullable: true, description: '`order` when left out.' })
  restartScope?: RestartScopeType | null;

  @Field(() => String, { nullable: true, description: 'Named after the day when left out.' })
  name?: string | null;
}

@InputType()
export class JoinQuarantineInput {
  @Field(() => ID)
  groupId!: string;

  @Field(() => [ID], { description: 'At most 100.' })
  animalIds!: string[];

  @Field(() => DayType)
  enteredOn!: Day;
}

@InputType()
export class ReleaseQuarantineInput {
  @Field(() => ID)
  groupId!: string;

  @Field(() => DayType)
  on!: Day;

  @Field(() => String, { nullable: true, description: 'Needed before the days are over. For the keeper only.' })
  reason?: string | null;
}

@ObjectType()
export class OpenQuarantinePayload {
  @Field(() => QuarantineGroupType)
  quarantine!: QuarantineGroupType;

  @Field(() => String, { description: 'Who decides when the animals are let out.' })
  caution!: string;
}

@ObjectType()
export class JoinQuarantinePayload extends OpenQuarantinePayload {}

@ObjectType()
export class ReleaseQuarantinePayload extends OpenQuarantinePayload {}

/** GraphQL form of a group as it stands on `today`. */
export function toQuarantineGroupType(group: StoredQuarantine, today: Day): QuarantineGroupType {
  const { id, keeperId, name, days, daysSource, openedAt, transferId } = group;
  return {
    ...{ id, keeperId, name, days, daysSource, openedAt, transferId },
    restartScope: RestartScopeType[group.restartScope],
    ...stateFields(groupState(group, today)),
    releaseReason: group.released?.reason ?? null,
    entries: group.entries.map((entry) => ({
      animalId: entry.animalId,
      registerNumber: formatRegisterNumber(entry.registerNumber as RegisterNumber),
      enteredOn: entry.enteredOn,
      leftOn: entry.leftOn,
      ...stateFields(animalState(group, entry.animalId, today)),
    })),
  };
}

function stateFields(state: QuarantineState): StateFields {
  return {
    state: QuarantineStateType[state.kind],
    until: state.kind === 'in_quarantine' ? state.until : null,
    since: state.kind === 'in_quarantine' || state.kind === 'not_yet' ? null : state.on,
  };
}

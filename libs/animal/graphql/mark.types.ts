import { Field, ID, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { Connection, DayType, UncertainDayType } from '../../platform/graphql/index.js';
import { type Mark } from '../core/mark.core.js';
import { MarkKindType } from './animal.enums.js';

export enum MarkEndCauseType {
  failed = 'failed',
  removed = 'removed',
  lost = 'lost',
  regrown = 'regrown',
  faded = 'faded',
  replaced = 'replaced',
  other = 'other',
}
registerEnumType(MarkEndCauseType, {
  name: 'MarkEndCause',
  description: 'Why a mark can no longer be read on the animal.',
  valuesMap: {
    failed: { description: 'A chip that no reader answers.' },
    regrown: { description: 'A feature that has grown back, such as a tail.' },
    faded: { description: 'A pattern or a paint that is no longer told apart.' },
  },
});

export enum PhotoVerdictType {
  same = 'same',
  different = 'different',
  unsure = 'unsure',
}
registerEnumType(PhotoVerdictType, { name: 'PhotoVerdict' });

export enum PhotoStandingType {
  no_pictures = 'no_pictures',
  first_pictures = 'first_pictures',
  unconfirmed = 'unconfirmed',
  confirmed = 'confirmed',
  contradicted = 'contradicted',
}
registerEnumType(PhotoStandingType, {
  name: 'PhotoStanding',
  description: 'Where a photo documentation stands, by its latest session.',
  valuesMap: {
    confirmed: { description: 'Two different people or more find the animal to be the same.' },
    contradicted: { description: 'Somebody sees another animal.' },
  },
});

@ObjectType('PhotoComparison', { description: 'What one person says of two sessions.' })
export class PhotoComparisonType {
  @Field(() => ID)
  earlierSessionId!: string;

  @Field(() => PhotoVerdictType)
  verdict!: PhotoVerdictType;

  @Field(() => Boolean, { description: 'Whether the asking account said it.' })
  own!: boolean;
}

@ObjectType('PhotoSession', { description: 'One dated set of pictures of a photo documentation.' })
export class PhotoSessionType {
  @Field(() => ID)
  id!: string;

  @Field(() => DayType)
  takenOn!: Day;

  @Field(() => [PhotoComparisonType], { description: 'One a person and an earlier session.' })
  comparisons!: PhotoComparisonType[];

  @Field(() => [ID], { description: 'Its pictures, 10 at most; see `files` of the animal for those you may see.' })
  fileIds!: string[];
}

export const PhotoSessionConnection = Connection(PhotoSessionType, 'PhotoSession');

@ObjectType('PhotoDocumentation', {
  description: 'Dated pictures of a fixed view, repeated at an interval: a full mark.',
})
export class PhotoDocumentationType {
  @Field(() => String)
  fixedView!: string;

  @Field(() => Boolean, { description: 'Whether a scale is in the picture.' })
  withScale!: boolean;

  @Field(() => Int)
  intervalDays!: number;

  @Field(() => PhotoStandingType)
  standing!: PhotoStandingType;

  @Field(() => Int, { description: 'Different people who find the latest session to show the same animal.' })
  confirmedBy!: number;

  @Field(() => DayType, { nullable: true })
  lastTakenOn!: Day | null;

  @Field(() => DayType, { nullable: true, description: 'When new pictures are due; null before the first.' })
  nextDueOn!: Day | null;

  @Field(() => Boolean)
  overdue!: boolean;

  /** Not part of the schema: what the sessions are read by. */
  mark!: Mark;
  until!: Date | null;
}

@ObjectType('Mark', { description: 'What tells the animal apart, over the time it can be read.' })
export class MarkType {
  @Field(() => ID, { description: 'Stays through corrections.' })
  id!: string;

  @Field(() => MarkKindType)
  kind!: MarkKindType;

  @Field(() => String)
  value!: string;

  @Field(() => String, { nullable: true, description: 'Of a ring, as the maker writes it.' })
  size!: string | null;

  @Field(() => String, { nullable: true, description: 'Since when it is valid, EDTF.' })
  edtf!: string | null;

  @Field(() => UncertainDayType, { nullable: true, description: 'When it ended; null while it can be read.' })
  until!: UncertainDayType | null;

  @Field(() => MarkEndCauseType, { nullable: true })
  endCause!: MarkEndCauseType | null;

  /** Not part of the schema. */
  mark!: Mark;
  readsUntil!: Date | null;
}

@ObjectType('MarkVersion', { description: 'A mark as it was recorded at some time.' })
export class MarkVersionType {
  @Field(() => MarkType)
  mark!: MarkType;

  @Field(() => Date)
  recordedAt!: Date;

  @Field(() => Date, { nullable: true, description: 'When another version, or nothing, took its place.' })
  supersededAt!: Date | null;

  @Field(() => String, { nullable: true, description: 'Why this version was superseded.' })
  reason!: string | null;
}

export const MarkVersionConnection = Connection(MarkVersionType, 'MarkVersion');

@ObjectType('MarkConflict', {
  description:
    'Another living animal has a record with the same chip number. Whose it is, is not said; nothing is blocked.',
})
export class MarkConflictType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  value!: string;

  @Field(() => Boolean, {
    description: 'The number is of manufacturer code 900, which several makers share: it may be right on both.',
  })
  sharedCode!: boolean;

  @Field(() => Date)
  since!: Date;
}

/** GraphQL form of a mark. `until` is the moment up to which a past holder reads. */
export function toMarkType(mark: Mark, until: Date | null): MarkType {
  return {
    id: mark.id,
    kind: MarkKindType[mark.kind],
    value: mark.value,
    size: mark.size,
    edtf: mark.when?.edtf ?? null,
    until: mark.ended === null ? null : { ...mark.ended.when },
    endCause: mark.ended === null ? null : MarkEndCauseType[mark.ended.cause],
    mark,
    readsUntil: until,
  };
}

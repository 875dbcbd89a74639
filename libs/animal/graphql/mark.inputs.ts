import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { z } from 'zod';
import { type Day } from '../../kernel/index.js';
import { DayType, UncertainDayInputType, type UncertainDayValue } from '../../platform/graphql/index.js';
import { dayInput, idInput } from '../../platform/input/index.js';
import { type CorrectMarkCommand } from '../app/correct-mark.js';
import {
  ASKED_KINDS,
  checkDetails,
  checkMark,
  MARK_END_CAUSES,
  MARK_KINDS,
  PHOTO_INTERVAL,
  type Warning,
} from '../core/mark.core.js';
import { PHOTO_VERDICTS } from '../core/photo.core.js';
import { uncertainDay } from '../uncertain-day.schema.js';
import { MarkKindType } from './animal.enums.js';
import { AnimalType, WarningType } from './animal.types.js';
import { MarkEndCauseType, MarkType, PhotoVerdictType } from './mark.types.js';

/** What belongs to some kinds of marks only. */
@InputType({ isAbstract: true })
class MarkDetailsInput {
  @Field(() => String, { nullable: true, description: 'Of a ring, as the maker writes it.' })
  size?: string | null;

  @Field(() => String, { nullable: true, description: 'Of a photo documentation: what is shown, from which side.' })
  fixedView?: string | null;

  @Field(() => Boolean, { nullable: true, description: 'Of a photo documentation: a scale is in the picture.' })
  withScale?: boolean | null;

  @Field(() => Int, { nullable: true, description: 'Of a photo documentation: repeated after so many days.' })
  intervalDays?: number | null;
}

@InputType()
export class MarkInput extends MarkDetailsInput {
  @Field(() => MarkKindType)
  kind!: MarkKindType;

  @Field(() => String, {
    nullable: true,
    description: 'What stands on the mark, or what it looks like. A photo documentation may leave it out.',
  })
  value?: string | null;

  @Field(() => UncertainDayInputType, { nullable: true, description: 'Since when it is valid.' })
  when?: UncertainDayValue | null;
}

@InputType()
export class RecordMarkInput extends MarkInput {
  @Field(() => ID)
  animalId!: string;
}

@InputType()
export class EndMarkInput {
  @Field(() => ID)
  markId!: string;

  @Field(() => UncertainDayInputType, { nullable: true, description: 'When it ended. Today when left out.' })
  until?: UncertainDayValue | null;

  @Field(() => MarkEndCauseType)
  cause!: MarkEndCauseType;

  @Field(() => String, { nullable: true })
  note?: string | null;
}

@InputType({ description: 'What is left out stays as it was.' })
export class CorrectMarkInput extends MarkDetailsInput {
  @Field(() => ID)
  markId!: string;

  @Field(() => String)
  reason!: string;

  @Field(() => Boolean, { nullable: true, description: 'True: it was recorded by mistake and is taken back.' })
  takeBack?: boolean | null;

  @Field(() => MarkKindType, { nullable: true })
  kind?: MarkKindType | null;

  @Field(() => String, { nullable: true })
  value?: string | null;

  @Field(() => UncertainDayInputType, { nullable: true, description: 'Since when it is valid; null: not known.' })
  when?: UncertainDayValue | null;

  @Field(() => UncertainDayInputType, {
    nullable: true,
    description: 'When it ended; null: it has not ended after all.',
  })
  until?: UncertainDayValue | null;
}

@InputType()
export class RecordPhotoSessionInput {
  @Field(() => ID)
  markId!: string;

  @Field(() => DayType, { nullable: true, description: 'Today when left out.' })
  takenOn?: Day | null;

  @Field(() => [ID], { nullable: true, description: 'Own files of the animal, at most 10: the pictures.' })
  fileIds?: string[] | null;
}

@InputType()
export class TakeBackPhotoSessionInput {
  @Field(() => ID)
  sessionId!: string;

  @Field(() => String)
  reason!: string;
}

@InputType()
export class ConfirmPhotoComparisonInput {
  @Field(() => ID, { description: 'The later session.' })
  sessionId!: string;

  @Field(() => ID)
  earlierSessionId!: string;

  @Field(() => PhotoVerdictType)
  verdict!: PhotoVerdictType;
}

@ObjectType({ isAbstract: true })
class MarkPayload {
  @Field(() => AnimalType)
  animal!: AnimalType;

  @Field(() => MarkType, { nullable: true, description: 'Null where it was taken back.' })
  mark!: MarkType | null;

  @Field(() => [WarningType])
  warnings!: WarningType[];
}

@ObjectType()
export class RecordMarkPayload extends MarkPayload {}

@ObjectType()
export class EndMarkPayload extends MarkPayload {}

@ObjectType()
export class CorrectMarkPayload extends MarkPayload {}

@ObjectType()
export class RecordPhotoSessionPayload extends MarkPayload {
  @Field(() => ID)
  sessionId!: string;
}

@ObjectType()
export class TakeBackPhotoSessionPayload extends MarkPayload {}

@ObjectType()
export class ConfirmPhotoComparisonPayload extends MarkPayload {}

export enum MarkReportType {
  none = 'none',
  stolen = 'stolen',
  missing = 'missing',
  escaped = 'escaped',
  dead = 'dead',
}
registerEnumType(MarkReportType, {
  name: 'MarkReport',
  description: 'What is reported of an animal whose mark was read.',
});

@ObjectType('MarkAnswer', { description: 'What the registry says about a mark. Nobody is named.' })
export class MarkAnswerType {
  @Field(() => Boolean, { description: 'A record carries this mark.' })
  known!: boolean;

  @Field(() => MarkReportType)
  reported!: MarkReportType;
}

@InputType()
export class TellKeeperInput {
  @Field(() => MarkKindType, { description: 'transponder, other_chip, ring or tag.' })
  kind!: MarkKindType;

  @Field(() => String)
  value!: string;

  @Field(() => String, { description: 'What you found, and how you can be reached if you wish so.' })
  message!: string;
}

@ObjectType()
export class TellKeeperPayload {
  @Field(() => Boolean, { description: 'False where no record with a keeper carries this mark.' })
  told!: boolean;
}

const line = (longest: number) =>
  z.string().trim().min(1, 'This is empty. | Write something, or leave it out.').max(longest);
const details = {
  size: line(40).nullish(),
  fixedView: line(100).nullish(),
  withScale: z.boolean().nullish(),
  intervalDays: z
    .int()
    .min(PHOTO_INTERVAL.shortest, 'At least one day. | Write the days between two sessions.')
    .max(PHOTO_INTERVAL.longest, `More than ${PHOTO_INTERVAL.longest} days. | Write the days between two sessions.`)
    .nullish(),
};
const reason = line(500);

const markFields = {
  kind: z.enum(MARK_KINDS),
  value: z.string().nullish(),
  when: uncertainDay.nullish(),
  ...details,
};

function readMark(input: z.infer<z.ZodObject<typeof markFields>>, context: z.RefinementCtx) {
  const { kind } = input;
  const own = {
    size: input.size ?? null,
    fixedView: input.fixedView ?? null,
    withScale: input.withScale ?? null,
    intervalDays: input.intervalDays ?? null,
  };
  const problems = checkDetails(kind, own);
  for (const { path, message, remedy } of problems)
    context.addIssue({ code: 'custom', message: `${message} | ${remedy}`, path: [path] });
  const checked = checkMark(kind, input.value ?? (kind === 'photo_documentation' ? own.fixedView : null) ?? '');
  if (!checked.ok) {
    if (problems.length === 0)
      context.addIssue({ code: 'custom', message: `${checked.message} | ${checked.remedy}`, path: ['value'] });
    return z.NEVER;
  }
  const warnings: Warning[] = checked.warning === null ? [] : [checked.warning];
  return { mark: { kind, value: checked.value, when: input.when ?? null, ...own }, warnings };
}

/** `MarkInput` as a mark ready to be stored, with the warning it gives rise to by itself. */
export const markInput = z.object(markFields).transform(readMark);

/** `RecordMarkInput` as a command, with the same warning. */
export const recordMarkCommand = z
  .object({ animalId: idInput, ...markFields })
  .transform(({ animalId, ...fields }, context) => {
    const read = readMark(fields, context);
    return { command: { animalId, ...read.mark }, warnings: read.warnings };
  });

export const endMarkCommand = z.object({
  markId: idInput,
  until: uncertainDay.nullish().transform((day) => day ?? null),
  cause: z.enum(MARK_END_CAUSES),
  note: line(500)
    .nullish()
    .transform((note) => note ?? null),
});

export const correctMarkCommand = z
  .object({
    markId: idInput,
    reason,
    takeBack: z.boolean().nullish(),
    kind: z.enum(MARK_KINDS).nullish(),
    value: z.string().nullish(),
    when: uncertainDay.nullish(),
    until: uncertainDay.nullish(),
    ...details,
  })
  .transform(({ markId, reason: why, takeBack, kind, value, when, until, ...own }): CorrectMarkCommand => ({
    markId,
    reason: why,
    takeBack: takeBack ?? false,
    kind: kind ?? undefined,
    value: value ?? undefined,
    when,
    until,
    details: own,
  }));

export const recordPhotoSessionCommand = z.object({
  markId: idInput,
  takenOn: dayInput.nullish().transform((day) => day ?? null),
  fileIds: z
    .array(idInput)
    .max(10, 'A session has at most 10 pictures. | Choose the ones that show the fixed view best.')
    .nullish()
    .transform((ids) => [...new Set(ids ?? [])]),
});

export const takeBackPhotoSessionCommand = z.object({ sessionId: idInput, reason });

export const confirmPhotoComparisonCommand = z.object({
  sessionId: idInput,
  earlierSessionId: idInput,
  verdict: z.enum(PHOTO_VERDICTS),
});

const foundMark = z.object({
  kind: z.enum(ASKED_KINDS, 'Only numbers can be asked for. | Choose transponder, other_chip, ring or tag.'),
  value: z.string(),
});

function refuseMisread(mark: z.infer<typeof foundMark>, context: z.RefinementCtx): void {
  const checked = checkMark(mark.kind, mark.value);
  if (checked.ok) return;
  context.addIssue({ code: 'custom', message: `${checked.message} | ${checked.remedy}`, path: ['value'] });
}

/** Arguments of `markQuery`: what does not read is refused before anything is looked up or counted. */
export const markQuestion = foundMark.superRefine(refuseMisread);

export const tellKeeperCommand = foundMark.extend({ message: line(1000) }).superRefine(refuseMisread);

import { Field, ID, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { z } from 'zod';
import { AnimalType, CERTAINTIES, CertaintyType, FATE_CHANGES, uncertainDay } from '../../animal/index.js';
import { UncertainDayInputType, type UncertainDayValue } from '../../platform/graphql/index.js';
import { idInput } from '../../platform/input/index.js';
import { type CorrectDeathCommand } from '../app/correct-death.js';
import { type CorrectFateCommand } from '../app/correct-fate.js';
import { type RecordFateCommand } from '../app/record-fate.js';

export enum FateChangeType {
  missing = 'missing',
  stolen = 'stolen',
  escaped = 'escaped',
  seized = 'seized',
  surrendered = 'surrendered',
  left_registry = 'left_registry',
  found = 'found',
}
registerEnumType(FateChangeType, {
  name: 'FateChange',
  description: 'What became of an animal. A death is recorded with `recordDeath`.',
  valuesMap: {
    stolen: { description: 'Stated by an owner.' },
    seized: { description: 'Taken by an authority.' },
    surrendered: { description: 'Given up to an authority.' },
    left_registry: { description: 'Gone to somebody who keeps no record here.' },
    found: { description: 'It is back, from whichever of these.' },
  },
});

@InputType({ description: 'What an owner states of a theft.' })
export class TheftStatementInput {
  @Field(() => Boolean, { description: 'Whether the police have recorded it.' })
  policeInformed!: boolean;

  @Field(() => String, { nullable: true, description: 'Read by the reporting owner only.' })
  policeReference?: string | null;

  @Field(() => String, { nullable: true, description: 'Read by the other side and the coordinator too.' })
  statement?: string | null;
}

@InputType()
export class RecordFateInput {
  @Field(() => ID, { description: 'An animal, or a whole lot.' })
  animalId!: string;

  @Field(() => FateChangeType)
  fate!: FateChangeType;

  @Field(() => UncertainDayInputType, {
    nullable: true,
    description: 'When; the stock book follows the latest day it can be. Today when left out.',
  })
  when?: UncertainDayValue | null;

  @Field(() => String, { nullable: true })
  cause?: string | null;

  @Field(() => CertaintyType, { nullable: true })
  certainty?: CertaintyType | null;

  @Field(() => String, { nullable: true, description: 'Of a found animal: who found it.' })
  foundBy?: string | null;

  @Field(() => TheftStatementInput, { nullable: true, description: 'Of a stolen one.' })
  theft?: TheftStatementInput | null;
}

@ObjectType()
export class RecordFatePayload {
  @Field(() => AnimalType)
  animal!: AnimalType;
}

@InputType({ description: 'What is left out stays as it was.' })
export class CorrectDeathInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => String)
  reason!: string;

  @Field(() => Boolean, { nullable: true, description: 'True: it did not die. Then give nothing else.' })
  alive?: boolean | null;

  @Field(() => UncertainDayInputType, { nullable: true, description: 'When it died.' })
  when?: UncertainDayValue | null;

  @Field(() => String, { nullable: true, description: 'Null: not known.' })
  cause?: string | null;

  @Field(() => CertaintyType, { nullable: true })
  certainty?: CertaintyType | null;
}

@ObjectType()
export class CorrectDeathPayload {
  @Field(() => AnimalType)
  animal!: AnimalType;
}

@InputType({ description: 'What is left out stays as it was.' })
export class CorrectFateInput {
  @Field(() => ID, { description: 'An animal or a whole lot that is recorded as gone in some way.' })
  animalId!: string;

  @Field(() => String)
  reason!: string;

  @Field(() => Boolean, {
    nullable: true,
    description: 'True: it was not so; what was recorded before holds again. Then give nothing else.',
  })
  takeBack?: boolean | null;

  @Field(() => UncertainDayInputType, {
    nullable: true,
    description: 'When it was; the stock book follows the latest day it can be.',
  })
  when?: UncertainDayValue | null;

  @Field(() => String, { nullable: true, description: 'Null: not known.' })
  cause?: string | null;

  @Field(() => CertaintyType, { nullable: true })
  certainty?: CertaintyType | null;
}

@ObjectType()
export class CorrectFatePayload {
  @Field(() => AnimalType)
  animal!: AnimalType;
}

const text = (longest: number) =>
  z
    .string()
    .trim()
    .min(1, 'This is empty. | Write something, or leave the field out.')
    .max(longest, `This is longer than ${longest} characters. | Shorten it.`);
const optional = (longest: number) =>
  text(longest)
    .nullish()
    .transform((value) => value ?? null);
const certainty = z.enum(CERTAINTIES).nullish();

export const recordFateCommand = z
  .object({
    animalId: idInput,
    fate: z.enum(FATE_CHANGES),
    when: uncertainDay.nullish(),
    cause: optional(200),
    certainty,
    foundBy: optional(200),
    theft: z
      .object({ policeInformed: z.boolean(), policeReference: optional(200), statement: optional(2000) })
      .nullish(),
  })
  .transform((input, context): RecordFateCommand => {
    const misplaced = (path: string, only: string): void => {
      context.addIssue({ code: 'custom', message: `This belongs to ${only}. | Leave it out.`, path: [path] });
    };
    if (input.theft && input.fate !== 'stolen') misplaced('theft', 'a theft');
    if (input.foundBy !== null && input.fate !== 'found') misplaced('foundBy', 'an animal that was found');
    return {
      animalId: input.animalId,
      change: input.fate,
      when: input.when ?? null,
      cause: input.cause,
      certainty: input.certainty ?? null,
      foundBy: input.foundBy,
      theft: input.theft ?? null,
    };
  });

/** What both corrections can put right, by the flag that takes the whole back instead. */
const correction = {
  animalId: idInput,
  reason: text(500),
  when: uncertainDay.nullish(),
  cause: text(200).nullish(),
  certainty,
};
const flag = z.literal(true, 'Write true, or leave the field out.').nullish();

function onlyOne(
  given: { when?: unknown; cause?: unknown; certainty?: unknown },
  flagged: { path: string; isSet: boolean; nothingElse: string },
  context: z.RefinementCtx,
): void {
  const said = [given.when ?? undefined, given.cause, given.certainty].some((value) => value !== undefined);
  if (flagged.isSet !== said) return;
  const { path, isSet, nothingElse } = flagged;
  const message = isSet
    ? `${nothingElse} | Leave when, cause and certainty out.`
    : `Nothing is put right. | Give when, cause or certainty, or ${path}: true.`;
  context.addIssue({ code: 'custom', message, path: [path] });
}

export const correctDeathCommand = z
  .object({ ...correction, alive: flag })
  .transform(({ alive, when, ...input }, context): CorrectDeathCommand => {
    const nothingElse = 'An animal that lives has no day or cause of death.';
    onlyOne({ ...input, when }, { path: 'alive', isSet: alive === true, nothingElse }, context);
    return { ...input, alive: alive ?? false, when: when ?? undefined };
  });

export const correctFateCommand = z
  .object({ ...correction, takeBack: flag })
  .transform(({ takeBack, when, ...input }, context): CorrectFateCommand => {
    const nothingElse = 'What is taken back has no day and no cause.';
    onlyOne({ ...input, when }, { path: 'takeBack', isSet: takeBack === true, nothingElse }, context);
    return { ...input, takeBack: takeBack ?? false, when: when ?? undefined };
  });

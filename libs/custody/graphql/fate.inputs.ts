import { Field, ID, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { z } from 'zod';
import { AnimalType, CERTAINTIES, CertaintyType, FATE_CHANGES, uncertainDay } from '../../animal/index.js';
import { UncertainDayInputType, type UncertainDayValue } from '../../platform/graphql/index.js';
import { idInput } from '../../platform/input/index.js';
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
export class CorrectFateInput {
  @Field(() => ID, {
    description: 'An animal that is recorded as dead, or an animal or a whole lot that is gone in some way.',
  })
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

export const correctFateCommand = z
  .object({
    animalId: idInput,
    reason: text(500),
    takeBack: z.literal(true, 'Write true, or leave the field out.').nullish(),
    when: uncertainDay.nullish(),
    cause: text(200).nullish(),
    certainty,
  })
  .transform(({ takeBack, when, ...input }, context): CorrectFateCommand => {
    const isSet = takeBack === true;
    const said = [when ?? undefined, input.cause, input.certainty].some((value) => value !== undefined);
    if (isSet === said) {
      const message = isSet
        ? 'What is taken back has no day and no cause. | Leave when, cause and certainty out.'
        : 'Nothing is put right. | Give when, cause or certainty, or takeBack: true.';
      context.addIssue({ code: 'custom', message, path: ['takeBack'] });
    }
    return { ...input, takeBack: isSet, when: when ?? undefined };
  });

import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { z } from 'zod';
import { AnimalType, LOT_LOSSES, markInput, MarkInput, SEXES, SexType, WarningType } from '../../animal/index.js';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';
import { dayInput, idInput } from '../../platform/input/index.js';
import { MAX_RAISED } from '../app/raise-from-lot.js';

export enum LotLossType {
  died = 'died',
  missing = 'missing',
  stolen = 'stolen',
  escaped = 'escaped',
}
registerEnumType(LotLossType, {
  name: 'LotLoss',
  description: 'How some of a lot were lost.',
  valuesMap: { stolen: { description: 'Stated by an owner.' } },
});

@InputType({ isAbstract: true })
class LotChangeInput {
  @Field(() => ID)
  lotId!: string;

  @Field(() => Int)
  count!: number;

  @Field(() => DayType, { nullable: true, description: 'Today when left out.' })
  on?: Day | null;
}

@InputType()
export class LoseFromLotInput extends LotChangeInput {
  @Field(() => LotLossType)
  cause!: LotLossType;
}

@InputType()
export class FindInLotInput extends LotChangeInput {}

@InputType()
export class RecountLotInput extends LotChangeInput {
  @Field(() => Boolean, { nullable: true, description: 'True when the number is a guess.' })
  estimated?: boolean | null;

  @Field(() => String, { description: 'Why the record was off, as far as is known.' })
  reason!: string;
}

@InputType({ description: 'What is left out stays as it was.' })
export class CorrectLotChangeInput {
  @Field(() => ID, { description: 'A loss or a find in force.' })
  changeId!: string;

  @Field(() => String)
  reason!: string;

  @Field(() => Boolean, { nullable: true, description: 'True: it was not so. Then give nothing else.' })
  takeBack?: boolean | null;

  @Field(() => Int, { nullable: true, description: 'How many were lost or found.' })
  count?: number | null;

  @Field(() => DayType, { nullable: true })
  on?: Day | null;

  @Field(() => LotLossType, { nullable: true, description: 'Of a loss.' })
  cause?: LotLossType | null;
}

@InputType()
export class JoinLotsInput {
  @Field(() => ID, { description: 'Its record ends.' })
  fromLotId!: string;

  @Field(() => ID)
  intoLotId!: string;

  @Field(() => DayType, { nullable: true, description: 'Today when left out.' })
  on?: Day | null;
}

@InputType({ description: 'What is known of one animal alone; the rest is the lot’s.' })
export class RaisedAnimalInput {
  @Field(() => String, { nullable: true })
  name?: string | null;

  @Field(() => SexType, { nullable: true })
  sex?: SexType | null;

  @Field(() => [MarkInput], { nullable: true, description: 'At most 20.' })
  marks?: MarkInput[] | null;
}

@InputType()
export class RaiseFromLotInput {
  @Field(() => ID)
  lotId!: string;

  @Field(() => [RaisedAnimalInput], { description: `1 to ${MAX_RAISED}.` })
  animals!: RaisedAnimalInput[];

  @Field(() => DayType, { nullable: true, description: 'Today when left out.' })
  on?: Day | null;
}

@ObjectType({ isAbstract: true })
class LotPayload {
  @Field(() => AnimalType)
  lot!: AnimalType;
}

@ObjectType()
export class LoseFromLotPayload extends LotPayload {}

@ObjectType()
export class FindInLotPayload extends LotPayload {}

@ObjectType()
export class RecountLotPayload extends LotPayload {}

@ObjectType()
export class CorrectLotChangePayload extends LotPayload {}

@ObjectType()
export class JoinLotsPayload extends LotPayload {
  @Field(() => [WarningType], { description: 'What became unknown, because the two lots say different things of it.' })
  warnings!: WarningType[];
}

@ObjectType()
export class RaiseFromLotPayload extends LotPayload {
  @Field(() => [AnimalType], { description: 'In the order given.' })
  animals!: AnimalType[];

  @Field(() => [WarningType])
  warnings!: WarningType[];
}

/** Largest lot: more is a typing error. */
const MAX_LOT = 100_000;

const on = dayInput.nullish().transform((day) => day ?? null);
const count = z
  .int()
  .min(1, 'At least one. | Write how many.')
  .max(MAX_LOT, `More than ${MAX_LOT}. | Check the number.`);
const change = { lotId: idInput, count, on };

export const loseFromLotCommand = z
  .object({ ...change, cause: z.enum(LOT_LOSSES) })
  .transform((input) => ({ ...input, kind: 'lost' as const }));

export const findInLotCommand = z.object(change).transform((input) => ({ ...input, kind: 'found' as const }));

export const recountLotCommand = z
  .object({
    ...change,
    estimated: z
      .boolean()
      .nullish()
      .transform((guess) => guess ?? false),
    reason: z.string().trim().min(1, 'A recount has a reason. | Write what is known of it.').max(500),
  })
  .transform((input) => ({ ...input, kind: 'recount' as const }));

export const correctLotChangeCommand = z
  .object({
    changeId: idInput,
    reason: z.string().trim().min(1, 'A correction has a reason. | Write what is known of it.').max(500),
    takeBack: z.literal(true, 'Write true, or leave the field out.').nullish(),
    count: count.nullish(),
    on: dayInput.nullish(),
    cause: z.enum(LOT_LOSSES).nullish(),
  })
  .transform((input, context) => {
    const { count: many, on: day, cause } = input;
    const takeBack = input.takeBack === true;
    if (takeBack === [many, day, cause].some((said) => (said ?? null) !== null)) {
      const message = takeBack
        ? 'What is taken back has no number, day or cause. | Leave count, on and cause out.'
        : 'Nothing is put right. | Give count, on or cause, or takeBack: true.';
      context.addIssue({ code: 'custom', message, path: ['takeBack'] });
    }
    const { changeId, reason } = input;
    return { changeId, reason, takeBack, count: many ?? undefined, on: day ?? undefined, cause: cause ?? undefined };
  });

export const joinLotsCommand = z.object({ fromLotId: idInput, intoLotId: idInput, on });

/** `RaiseFromLotInput` as a command, with the warnings the marks give rise to by themselves. */
export const raiseFromLotCommand = z
  .object({
    lotId: idInput,
    on,
    animals: z
      .array(
        z.object({
          name: z
            .string()
            .trim()
            .min(1, 'A name has at least one character. | Leave it out if there is none.')
            .max(100)
            .nullish(),
          sex: z.enum(SEXES).nullish(),
          marks: z.array(markInput).max(20, 'More than 20 marks. | Record the lasting ones.').nullish(),
        }),
      )
      .min(1, 'Nobody is raised. | Name at least one animal; it may be empty: {}.')
      .max(MAX_RAISED, `More than ${MAX_RAISED} at once. | Send them in several calls.`),
  })
  .transform(({ animals, ...rest }) => ({
    command: {
      ...rest,
      animals: animals.map(({ name, sex, marks }) => ({
        name: name ?? null,
        sex: sex ?? null,
        marks: (marks ?? []).map(({ mark }) => mark),
      })),
    },
    warnings: animals.flatMap(({ marks }) => (marks ?? []).flatMap((each) => each.warnings)),
  }));

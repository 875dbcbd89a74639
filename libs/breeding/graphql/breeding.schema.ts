import { z } from 'zod';
import { uncertainDay } from '../../animal/index.js';
import { type Day, parseDay } from '../../kernel/index.js';
import { PARENTAGE_BASES } from '../../lineage/index.js';
import { type CorrectBreedingFactCommand } from '../app/correct-breeding-fact.js';
import { KNOWN_ANSWERS } from '../core/breeding.core.js';
import { BREEDING_FACTS } from '../store/breeding-write.store.js';
import { idInput } from '../../platform/input/index.js';

const orNull = <T>(value: T | null | undefined): T | null => value ?? null;
const when = uncertainDay.nullish().transform(orNull);
const controlled = z
  .enum(KNOWN_ANSWERS)
  .nullish()
  .transform((value) => value ?? 'unknown');
const day = z
  .string()
  .refine((text) => parseDay(text) !== null)
  .transform((text) => text as Day)
  .nullish()
  .transform(orNull);

/** Largest clutch that is not a typing error: some frogs lay a thousand eggs and more. */
const MAX_EGGS = 100_000;

export const recordMatingCommand = z.object({
  damId: idInput,
  sireId: idInput.nullish().transform(orNull),
  when,
  controlled,
  basis: z
    .enum(PARENTAGE_BASES)
    .nullish()
    .transform((value) => value ?? 'observed'),
});

export const recordClutchCommand = z.object({
  damId: idInput,
  laid: when,
  foundOn: day,
  eggCount: z
    .int()
    .min(1, 'A clutch has at least one egg. | Write how many, or leave it out.')
    .max(MAX_EGGS, `More than ${MAX_EGGS} eggs. | Check the number.`)
    .nullish()
    .transform(orNull),
  controlled,
});

export const recordHatchingCommand = z.object({ clutchId: idInput, animalId: idInput, when, controlled });

export const correctBreedingFactCommand = z
  .object({
    kind: z.enum(BREEDING_FACTS),
    factId: idInput,
    reason: z.string().trim().min(1, 'A reason is needed. | Write one.').max(500, 'Too long. | Shorten it.'),
    takeBack: z
      .boolean()
      .nullish()
      .transform((value) => value ?? false),
    when: uncertainDay.nullable().optional(),
    controlled: z.enum(KNOWN_ANSWERS).nullish(),
  })
  .transform((input, context): CorrectBreedingFactCommand => {
    const changes = input.when !== undefined || (input.controlled ?? null) !== null;
    if (input.takeBack === changes) {
      context.addIssue({
        code: 'custom',
        message: input.takeBack
          ? 'What is taken back is not changed as well. | Leave `when` and `controlled` out.'
          : 'Nothing is corrected. | Give `when` or `controlled`, or take it back.',
      });
      return z.NEVER;
    }
    return { ...input, when: input.when, controlled: input.controlled ?? undefined };
  });

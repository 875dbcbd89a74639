import { z } from 'zod';
import { uncertainDay } from '../../animal/index.js';
import { candidatesInput, PARENTAGE_BASES } from '../../lineage/index.js';
import { dayInput, idInput } from '../../platform/input/index.js';
import { type CorrectBreedingFactCommand } from '../app/correct-breeding-fact.js';
import { KNOWN_ANSWERS } from '../core/breeding.core.js';
import { BREEDING_FACTS } from '../store/breeding-write.store.js';

export const orNull = <T>(value: T | null | undefined): T | null => value ?? null;
export const when = uncertainDay.nullish().transform(orNull);
export const controlled = z
  .enum(KNOWN_ANSWERS)
  .nullish()
  .transform((value) => value ?? 'unknown');
export const optionalDay = dayInput.nullish().transform(orNull);
export const optionalId = idInput.nullish().transform(orNull);
export const reason = z.string().trim().min(1, 'A reason is needed. | Write one.').max(500, 'Too long. | Shorten it.');
export const flag = z
  .boolean()
  .nullish()
  .transform((value) => value ?? false);

/** Largest clutch that is not a typing error: some frogs lay a thousand eggs and more. */
const MAX_EGGS = 100_000;

const eggCount = z
  .int()
  .min(1, 'A clutch has at least one egg. | Write how many, or leave it out.')
  .max(MAX_EGGS, `More than ${MAX_EGGS} eggs. | Check the number.`);

export const eggNumber = z
  .int()
  .min(1, 'Eggs are numbered from 1. | Write the number of the egg.')
  .max(MAX_EGGS, `More than ${MAX_EGGS}. | Check the number.`);

export const recordMatingCommand = z.object({
  damId: idInput,
  sireId: optionalId,
  when,
  controlled,
  basis: z
    .enum(PARENTAGE_BASES)
    .nullish()
    .transform((value) => value ?? 'observed'),
});

export const recordClutchCommand = z
  .object({
    damId: optionalId,
    damCandidates: candidatesInput.nullish().transform((value) => value ?? []),
    enclosureId: optionalId,
    kind: z
      .enum(['eggs', 'born'])
      .nullish()
      .transform((value) => value ?? 'eggs'),
    laid: when,
    foundOn: optionalDay,
    eggCount: eggCount.nullish().transform(orNull),
    controlled,
    separateClutch: flag,
    mergeInto: optionalId,
  })
  .superRefine(({ damId, damCandidates, enclosureId, separateClutch, mergeInto }, context) => {
    const problem = (path: string, message: string) => context.addIssue({ code: 'custom', path: [path], message });
    if (damId !== null && damCandidates.length > 0)
      problem('damCandidates', 'The dam is named already. | Give the one dam, or the candidates.');
    if (damId === null && damCandidates.length === 0 && enclosureId === null)
      problem('damId', 'Who laid it is not said. | Name the dam, the candidates, or the enclosure they live in.');
    if (separateClutch && mergeInto !== null)
      problem('mergeInto', 'It cannot be the same clutch and another one. | Leave one of the two out.');
  });

export const recordHatchingCommand = z.object({
  clutchId: idInput,
  animalId: idInput,
  eggNumber: eggNumber.nullish().transform(orNull),
  when,
  controlled,
});

export const correctBreedingFactCommand = z
  .object({
    kind: z.enum(BREEDING_FACTS),
    factId: idInput,
    reason,
    takeBack: flag,
    when: uncertainDay.nullable().optional(),
    controlled: z.enum(KNOWN_ANSWERS).nullish(),
    foundOn: dayInput.nullable().optional(),
    eggCount: eggCount.nullable().optional(),
    enclosureId: idInput.nullable().optional(),
    damId: idInput.nullish(),
  })
  .transform((input, context): CorrectBreedingFactCommand => {
    const ofClutch = [input.foundOn, input.eggCount, input.enclosureId, input.damId ?? undefined];
    const forClutch = ofClutch.some((value) => value !== undefined);
    if (forClutch && input.kind !== 'clutch') {
      context.addIssue({
        code: 'custom',
        message: 'Finding, number of eggs, enclosure and dam belong to a clutch. | Correct them there.',
      });
      return z.NEVER;
    }
    const changes = input.when !== undefined || (input.controlled ?? null) !== null || forClutch;
    if (input.takeBack === changes) {
      context.addIssue({
        code: 'custom',
        message: input.takeBack
          ? 'What is taken back is not changed as well. | Leave the other fields out.'
          : 'Nothing is corrected. | Give what changes, or take it back.',
      });
      return z.NEVER;
    }
    const { controlled: answer, damId, ...rest } = input;
    return { ...rest, when: input.when, controlled: answer ?? undefined, damId: damId ?? undefined };
  });

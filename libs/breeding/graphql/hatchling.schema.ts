import { z } from 'zod';
import { markInput, ORIGIN_CLASSES, SEXES, type Warning } from '../../animal/index.js';
import { candidatesInput, PARENTAGE_BASES } from '../../lineage/index.js';
import { idInput } from '../../platform/input/index.js';
import { type HatchlingsCommand, type NamedParent } from '../app/hatchlings-command.js';
import { type MoveFamilyCommand } from '../app/move-family.js';
import { controlled, eggNumber, optionalDay, optionalId, orNull, when } from './breeding.schema.js';

/** Most records of one act. */
const MAX_YOUNG = 100;
const MAX_LOT = 100_000;

const youngling = z.object({
  name: z
    .string()
    .trim()
    .min(1, 'A name has at least one character. | Leave it out if there is none.')
    .max(100, 'Longer than 100 characters. | Shorten it.')
    .nullish()
    .transform(orNull),
  sex: z.enum(SEXES).nullish().transform(orNull),
  marks: z
    .array(markInput)
    .max(20, 'More than 20 marks. | Record the lasting ones.')
    .nullish()
    .transform((value) => value ?? []),
  eggNumber: eggNumber.nullish().transform(orNull),
  count: z
    .int()
    .min(1, 'At least one. | Write how many there are.')
    .max(MAX_LOT, `More than ${MAX_LOT}. | Check the number.`)
    .nullish()
    .transform((value) => value ?? 1),
  estimated: z
    .boolean()
    .nullish()
    .transform((value) => value ?? false),
});

/** A parent as named; undefined = as proposed. */
const namedParent = z
  .object({
    parentId: idInput.nullish(),
    candidates: candidatesInput.nullish(),
    unknown: z.boolean().nullish(),
    basis: z
      .enum(PARENTAGE_BASES)
      .nullish()
      .transform((value) => value ?? ('declared' as const)),
  })
  .transform(({ parentId, candidates, unknown, basis }, context): NamedParent => {
    const ways = [parentId ?? null, candidates ?? null, unknown === true ? true : null];
    if (ways.filter((way) => way !== null).length !== 1) {
      context.addIssue({
        code: 'custom',
        message:
          'Give `parentId`, `candidates` or `unknown: true`, one of the three. | Leave the parent out to take the proposal.',
      });
      return z.NEVER;
    }
    return { basis, candidates: candidates ?? (parentId ? [{ parentId, probability: 1 }] : []) };
  })
  .nullish()
  .transform((value) => value ?? undefined);

/** `RecordHatchlingsInput` as a command, with the warnings its marks give rise to. */
export const recordHatchlingsCommand = z
  .object({
    clutchId: optionalId,
    keeperId: optionalId,
    taxonId: optionalId,
    lineId: optionalId,
    when,
    controlled,
    originClass: z.enum(ORIGIN_CLASSES).nullish().transform(orNull),
    since: optionalDay,
    enclosureId: optionalId,
    young: z
      .array(youngling)
      .min(1, 'No young are named. | Name at least one, or a lot of them.')
      .max(MAX_YOUNG, `More than ${MAX_YOUNG} records. | Record them in several steps, or as lots.`),
    dam: namedParent,
    sire: namedParent,
  })
  .superRefine(({ clutchId, keeperId, taxonId, dam, young }, context) => {
    const problem = (path: (string | number)[], message: string) => context.addIssue({ code: 'custom', path, message });
    if (clutchId === null && keeperId === null)
      problem(['keeperId'], 'Whose they are is not said. | Name the own keeper, or the clutch.');
    if (clutchId === null && taxonId === null)
      problem(['taxonId'], 'What they are is not said. | Name the taxon, or the clutch.');
    if (clutchId !== null && taxonId !== null) problem(['taxonId'], 'The clutch tells the taxon. | Leave it out.');
    if (clutchId !== null && dam !== undefined)
      problem(['dam'], 'The clutch tells the dam. | Leave her out, or correct the clutch first.');
    for (const [i, each] of young.entries()) {
      if (each.count === 1 && !each.estimated) continue;
      if (each.sex !== null || each.marks.length > 0 || each.eggNumber !== null)
        problem(['young', i], 'A lot has no sex, marks or single egg. | Leave them out, or name each animal.');
    }
  })
  .transform(({ young, ...rest }): { command: HatchlingsCommand; warnings: Warning[] } => ({
    command: {
      ...rest,
      young: young.map(({ marks, estimated, ...each }) => ({
        ...each,
        countEstimated: estimated,
        marks: marks.map(({ mark }) => mark),
      })),
    },
    warnings: young.flatMap((each) => each.marks.flatMap(({ warnings }) => warnings)),
  }));

/** `MoveFamilyInput` as a command. */
export const moveFamilyCommand: z.ZodType<MoveFamilyCommand> = z.object({
  toEnclosureId: idInput,
  fromEnclosureId: optionalId,
  animalIds: z
    .array(idInput)
    .max(200, 'More than 200 animals. | Move them in several steps.')
    .nullish()
    .transform((value) => value ?? []),
  clutches: z
    .array(
      z.object({
        clutchId: idInput,
        eggs: z
          .array(eggNumber)
          .min(1, 'No egg is named. | Name at least one, or leave it out for all that are left.')
          .max(200, 'More than 200 eggs. | Leave them out to move all that are left.')
          .nullish()
          .transform(orNull),
      }),
    )
    .max(50, 'More than 50 clutches. | Move them in several steps.')
    .nullish()
    .transform((value) => value ?? []),
  on: optionalDay,
});

import { z } from 'zod';
import { BIRTH_MANNERS, CERTAINTIES, markInput, ORIGIN_CLASSES, SEXES, uncertainDay } from '../../animal/index.js';
import { type Day, parseDay } from '../../kernel/index.js';
import { basisInput, candidatesInput, type ParentStatement } from '../../lineage/index.js';
import { idInput } from '../../platform/input/index.js';

/** Largest lot: more is a typing error. */
const MAX_LOT = 100_000;

const orNull = <T>(value: T | null | undefined): T | null => value ?? null;
const day = z
  .string()
  .refine((text) => parseDay(text) !== null)
  .transform((text) => text as Day);
const optionalId = idInput.nullish().transform(orNull);
const optionalDay = day.nullish().transform(orNull);
const count = z
  .int()
  .min(1, 'At least one. | Write how many there are.')
  .max(MAX_LOT, `More than ${MAX_LOT}. | Check the number.`);

const stock = {
  keeperId: idInput,
  taxonId: idInput,
  lineId: optionalId,
  name: z
    .string()
    .trim()
    .min(1, 'A name has at least one character. | Leave it out if there is none.')
    .max(100)
    .nullish()
    .transform(orNull),
  birth: z
    .object({ edtf: uncertainDay, manner: z.enum(BIRTH_MANNERS) })
    .transform(({ edtf, manner }) => ({ when: edtf, manner }))
    .nullish()
    .transform(orNull),
  originClass: z.enum(ORIGIN_CLASSES).nullish().transform(orNull),
  sireId: optionalId,
  damId: optionalId,
  sireCandidates: candidatesInput.nullish(),
  damCandidates: candidatesInput.nullish(),
  withoutSire: z.boolean().nullish(),
  parentsBasis: basisInput,
  founder: z
    .boolean()
    .nullish()
    .transform((value) => value ?? false),
  since: optionalDay,
  arrivedBy: z
    .enum(['registered', 'born'])
    .nullish()
    .transform((value) => value ?? ('registered' as const)),
};

type ParentFields = {
  readonly sireId: string | null;
  readonly damId: string | null;
  readonly sireCandidates?: ParentStatement['candidates'] | null | undefined;
  readonly damCandidates?: ParentStatement['candidates'] | null | undefined;
  readonly withoutSire?: boolean | null | undefined;
  readonly parentsBasis: ParentStatement['basis'];
};

/** One statement a role at most: a single parent, candidates, or for the sire that there was none. */
function checkParents(input: ParentFields, context: z.core.$RefinementCtx): void {
  const clash = (path: string, others: string): void => {
    const message = `The parent is given in two ways. | Leave out ${others}.`;
    context.addIssue({ code: 'custom', path: [path], message });
  };
  if (input.sireId !== null && input.sireCandidates) clash('sireCandidates', 'it, or `sireId`');
  if (input.damId !== null && input.damCandidates) clash('damCandidates', 'it, or `damId`');
  if (input.withoutSire === true && (input.sireId !== null || input.sireCandidates))
    clash('withoutSire', 'it, or the sire');
}

function withParents<T extends ParentFields>(input: T) {
  const { sireId, damId, sireCandidates, damCandidates, withoutSire, parentsBasis: basis, ...rest } = input;
  const say = (
    role: ParentStatement['role'],
    id: string | null,
    candidates: ParentStatement['candidates'] | null | undefined,
    none: boolean,
  ): ParentStatement[] => {
    if (none) return [{ role, basis, candidates: [], withoutSire: true }];
    const all = candidates ?? (id === null ? [] : [{ parentId: id, probability: 1 }]);
    return all.length === 0 ? [] : [{ role, basis, candidates: all, withoutSire: false }];
  };
  const parents = [
    ...say('sire', sireId, sireCandidates, withoutSire === true),
    ...say('dam', damId, damCandidates, false),
  ];
  return { ...rest, parents };
}

/** `RegisterAnimalInput` as a command, with the warnings its marks give rise to. */
export const registerAnimalCommand = z
  .object({
    ...stock,
    sex: z.enum(SEXES).nullish().transform(orNull),
    marks: z.array(markInput).max(20, 'More than 20 marks. | Record the lasting ones.').nullish(),
  })
  .superRefine(checkParents)
  .transform(({ marks, ...rest }) => ({
    command: {
      ...withParents(rest),
      kind: 'individual' as const,
      count: 1,
      countEstimated: false,
      marks: (marks ?? []).map(({ mark }) => mark),
    },
    warnings: (marks ?? []).flatMap((each) => each.warnings),
  }));

/** `RegisterLotInput` as a command. */
export const registerLotCommand = z
  .object({ ...stock, count, estimated: z.boolean().nullish() })
  .superRefine(checkParents)
  .transform(({ estimated, ...rest }) => ({
    ...withParents(rest),
    kind: 'lot' as const,
    sex: null,
    marks: [],
    countEstimated: estimated ?? false,
  }));

export const splitLotCommand = z.object({ lotId: idInput, count, on: optionalDay });

export const recordDeathCommand = z
  .object({
    animalId: idInput,
    on: optionalDay,
    when: uncertainDay.nullish().transform(orNull),
    cause: z.string().trim().min(1).max(200).nullish().transform(orNull),
    certainty: z.enum(CERTAINTIES).nullish().transform(orNull),
    count: count.nullish().transform(orNull),
  })
  .refine(({ on, when }) => on === null || when === null, {
    message: 'The day is given twice. | Give on or when, one of the two.',
    path: ['when'],
  });

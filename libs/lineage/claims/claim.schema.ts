import { z } from 'zod';
import { uncertainDay } from '../../animal/index.js';
import { idInput } from '../../platform/input/index.js';
import { type Candidate, type ClaimWarning } from './claim.core.js';
import { PARENTAGE_BASES } from './parentage.core.js';

/** Most candidates for one parent's place: animals kept together in one group. */
const MAX_CANDIDATES = 20;
/** How far a sum of probabilities may be from 1: what decimal fractions leave. */
const TOLERANCE = 1e-9;
/** The smallest probability: eight decimal places are kept. */
const STEP = 1e-8;

/** A warning as it is kept for a repeated request. */
export const claimWarning: z.ZodType<ClaimWarning> = z.object({
  code: z.custom<Uppercase<string>>((value) => typeof value === 'string'),
  message: z.string(),
  source: z.string().nullable(),
  parentId: z.uuid().nullable(),
});

/** Candidates of one parent's place: 2 to 20, each once, with probabilities above 0 that sum to 1. */
export const candidatesInput = z
  .array(
    z.object({
      parentId: idInput,
      probability: z
        .number()
        .min(STEP, 'A candidate has a probability above 0. | Leave out who cannot be it.')
        .max(1, 'No probability is above 1. | Write 0.25 for one in four.'),
    }),
  )
  .min(2, 'There is one candidate. | Name a single parent as `parentId`, or add the others.')
  .max(MAX_CANDIDATES, `More than ${MAX_CANDIDATES} candidates. | Leave the parent unknown.`)
  .superRefine((candidates, context) => {
    const seen = new Set<string>();
    for (const [i, { parentId }] of candidates.entries()) {
      if (seen.has(parentId))
        context.addIssue({
          code: 'custom',
          path: [i, 'parentId'],
          message: 'This animal is named twice. | Add its probabilities up.',
        });
      seen.add(parentId);
    }
    const sum = candidates.reduce((total, { probability }) => total + probability, 0);
    if (Math.abs(sum - 1) > TOLERANCE)
      context.addIssue({
        code: 'custom',
        message: `The probabilities sum to ${Number(sum.toFixed(9))}. | Change them so that they sum to 1.`,
      });
  })
  .transform(toKept);

/** What claims of one call rest on. */
export const basisInput = z
  .enum(PARENTAGE_BASES)
  .nullish()
  .transform((value) => value ?? ('declared' as const));

const oneOfThree = 'Give `parentId`, `candidates` or `withoutSire`, one of the three. | Leave the others out.';

/** `RecordParentInput` as a command. */
export const recordParentCommand = z
  .object({
    animalId: idInput,
    role: z.enum(['sire', 'dam']),
    parentId: idInput.nullish(),
    candidates: candidatesInput.nullish(),
    withoutSire: z.boolean().nullish(),
    basis: basisInput,
    evidence: z
      .string()
      .trim()
      .min(1, 'This is empty. | Write something, or leave the field out.')
      .max(2000, 'This is longer than 2000 characters. | Shorten it.')
      .nullish()
      .transform((value) => value ?? null),
    when: uncertainDay.nullish().transform((value) => value ?? null),
    reason: z
      .string()
      .trim()
      .min(1, 'A reason is needed. | Write one.')
      .max(500, 'This is longer than 500 characters. | Shorten it.')
      .nullish()
      .transform((value) => value ?? null),
  })
  .superRefine(({ parentId, candidates, withoutSire, role }, context) => {
    const given = [parentId ?? null, candidates ?? null, withoutSire === true ? true : null];
    if (given.filter((each) => each !== null).length > 1)
      context.addIssue({ code: 'custom', path: ['candidates'], message: oneOfThree });
    if (withoutSire === true && role === 'dam')
      context.addIssue({
        code: 'custom',
        path: ['withoutSire'],
        message: 'Only the place of the sire can be empty by nature. | Record this for the role sire.',
      });
  })
  .transform(({ parentId, candidates, withoutSire, ...rest }) => ({
    ...rest,
    withoutSire: withoutSire === true,
    candidates: candidates ?? (parentId ? [{ parentId, probability: 1 }] : []),
    pathOf: (i: number) => (candidates ? `input.candidates.${i}.parentId` : 'input.parentId'),
  }));

/** Probabilities as they are kept: eight decimal places that sum to 1. What rounding leaves goes to the most probable one. */
function toKept(candidates: readonly Candidate[]): Candidate[] {
  const steps = candidates.map(({ probability }) => Math.round(probability / STEP));
  const rest = Math.round(1 / STEP) - steps.reduce((sum, each) => sum + each, 0);
  const most = steps.indexOf(Math.max(...steps));
  return candidates.map(({ parentId }, i) => ({
    parentId,
    probability: Number((((steps[i] ?? 0) + (i === most ? rest : 0)) * STEP).toFixed(8)),
  }));
}

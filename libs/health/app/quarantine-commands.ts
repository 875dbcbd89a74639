import { z } from 'zod';
import { RESTART_SCOPES } from '../core/quarantine.core.js';
import { dayInput } from '../../platform/input/index.js';

/** Longest quarantine that is taken for meant, in days: imports are kept apart for half a year at most (common practice, no published source). */
const MAX_DAYS = 730;
const MAX_ANIMALS = 100;

const animalIds = z
  .array(z.uuid('This is not the id of an animal. | Use the id the registry gave.'))
  .min(1, 'No animal is named. | Name at least one.')
  .max(MAX_ANIMALS, `More than ${MAX_ANIMALS} animals. | Name them in several requests.`)
  .refine((ids) => new Set(ids).size === ids.length, 'An animal is named twice. | Name each once.');

const groupId = z.uuid('This is not the id of a quarantine. | Use the id that `quarantines` gives.');

/** Animals of a keeper that are kept apart together from a day on. */
export const openQuarantineCommand = z.object({
  keeperId: z.uuid('This is not the id of a keeper. | Use one of `me { keepers { id } }`.'),
  animalIds,
  enteredOn: dayInput,
  days: z
    .int()
    .min(1, 'At least one day. | Leave it out for the rule of the species.')
    .max(MAX_DAYS, `More than ${MAX_DAYS} days. | Check the number.`)
    .nullish(),
  restartScope: z.enum(RESTART_SCOPES).nullish(),
  name: z
    .string()
    .trim()
    .min(1, 'A name has at least one character. | Leave it out if there is none.')
    .max(100, 'A name has at most 100 characters. | Shorten it.')
    .nullish(),
});

/** Animals that join a group on a day. */
export const joinQuarantineCommand = z.object({ groupId, animalIds, enteredOn: dayInput });

/** The day a group is let out, and before its end the reason. */
export const releaseQuarantineCommand = z.object({
  groupId,
  on: dayInput,
  reason: z
    .string()
    .trim()
    .min(1, 'A reason has at least one character. | Leave it out if there is none.')
    .max(500, 'A reason has at most 500 characters. | Shorten it.')
    .nullish(),
});

/** What is kept of a command for a repeated request. */
export const quarantineOutcome = z.object({ groupId: z.uuid() });

export type QuarantineOutcome = z.infer<typeof quarantineOutcome>;

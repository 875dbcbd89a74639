import { z } from 'zod';
import { type BreedingWarning } from '../core/bounds.core.js';

/** Warnings as they are kept for a repeated request. */
export const breedingWarnings: z.ZodType<BreedingWarning[]> = z.array(
  z.object({
    code: z.custom<Uppercase<string>>((value) => typeof value === 'string'),
    message: z.string(),
  }),
);

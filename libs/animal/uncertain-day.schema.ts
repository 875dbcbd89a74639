import { z } from 'zod';
import { parseEdtf, type UncertainDay } from '../kernel/index.js';

/** A date as a keeper writes it, EDTF level 1; what cannot be read is refused with the way to write it. */
export const uncertainDay = z.string().transform((text, context): UncertainDay => {
  const read = parseEdtf(text);
  if (read.ok) return read.value;
  context.addIssue({ code: 'custom', message: `${read.message} | ${read.remedy}` });
  return z.NEVER;
});

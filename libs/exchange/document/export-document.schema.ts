import { z } from 'zod';
import { animal } from './animal.schema.js';
import { dealings } from './dealings.schema.js';
import { moment } from './parts.schema.js';
import { person } from './person.schema.js';
import { records } from './records.schema.js';

/**
 * What the registry holds of a keeper, as that keeper may read it. Version 3: a document with a changed form gets
 * another number. Of other people it has the names this keeper already sees, and what they wrote to it; nothing else. Dates are
 * ISO 8601, days and uncertain days EDTF (Library of Congress, 2019), money in minor units with its ISO 4217 code.
 */
export const exportDocument = z.strictObject({
  schemaVersion: z.literal(3),
  exportedAt: moment,
  ...person,
  animals: z.array(animal),
  ...records,
  ...dealings,
});

export type ExportDocument = z.infer<typeof exportDocument>;

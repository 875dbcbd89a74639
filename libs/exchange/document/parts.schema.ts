import { z } from 'zod';

export const day = z.string().regex(/^\d{4}-\d{2}-\d{2}$/);
export const moment = z.iso.datetime();
export const when = z.strictObject({ edtf: z.string(), earliest: day.nullable(), latest: day.nullable() }).nullable();
/** Register number of an animal, or null where it is no longer the keeper's to see. */
export const animalNumber = z.string().nullable();
/** What happened to an egg. */
export const eggEvent = {
  kind: z.string(),
  incubator: z.string().nullable(),
  celsius: z.number().nullable(),
  candling: z.string().nullable(),
  when,
};
/** A file: its bytes are fetched apart, under the address, with the token of an owner. */
export const fileFacts = { fileName: z.string(), mediaType: z.string(), size: z.int(), sha256: z.string() };

import { z } from 'zod';
import { defineJob } from '../../platform/outbox/index.js';

/** Files named in one message at most. */
export const HASHES_A_MESSAGE = 100;

/** Removes the bytes of files to which no row refers any more, unless they were kept again since. */
export const removeFiles = defineJob({
  name: 'exchange.remove-files',
  version: 1,
  payload: z.strictObject({
    hashes: z.array(z.string().regex(/^[0-9a-f]{64}$/)).max(HASHES_A_MESSAGE),
    notKeptSince: z.iso.datetime(),
  }),
  attempts: 8,
});

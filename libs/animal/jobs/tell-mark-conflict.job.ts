import { z } from 'zod';
import { defineJob } from '../../platform/outbox/index.js';

/** Tells the keepers of two animals that both carry one transponder number, and later that it is settled. */
export const tellMarkConflict = defineJob({
  name: 'animal.tell-mark-conflict',
  version: 1,
  payload: z.strictObject({ conflictId: z.uuid() }),
  attempts: 8,
});

/** Kinds of the notices this job writes. */
export const MARK_CONFLICT = 'mark_conflict';
export const MARK_CONFLICT_RESOLVED = 'mark_conflict_resolved';

/** Body of both: the reader's own animals and the number. Who the other keeper is stays untold, to either side. */
export const markConflictNotice = z.strictObject({
  conflictId: z.uuid(),
  animalIds: z.array(z.uuid()).min(1),
  registerNumbers: z.array(z.string()).min(1),
  value: z.string(),
  /** Under this manufacturer code two animals may rightly carry one number. */
  sharedCode: z.boolean(),
  remedy: z.string(),
});

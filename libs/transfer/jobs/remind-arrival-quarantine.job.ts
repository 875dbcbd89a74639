import { z } from 'zod';
import { defineJob } from '../../platform/outbox/index.js';

/** Tells a keeper how long the animals that came by a transfer are kept apart. Sent in the transaction that receives them, or takes them up. */
export const remindArrivalQuarantine = defineJob({
  name: 'transfer.remind-arrival-quarantine',
  version: 1,
  payload: z.strictObject({ transferId: z.uuid(), keeperId: z.uuid() }),
  attempts: 8,
});

/** Kind of the notice this job writes. */
export const ARRIVAL_QUARANTINE = 'arrival_quarantine';

/** Body of a notice of kind `arrival_quarantine`; its due day is the first day the quarantine may end. */
export const arrivalQuarantineNotice = z.strictObject({
  transferId: z.uuid(),
  groupId: z.uuid(),
  registerNumbers: z.array(z.string()).min(1),
  days: z.int().min(0),
  /** Who says how long: the species with the longest rule, and the rule's source. */
  source: z.string(),
  caution: z.string(),
});

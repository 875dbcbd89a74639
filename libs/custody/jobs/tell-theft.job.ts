import { z } from 'zod';
import { defineJob } from '../../platform/outbox/index.js';

/** Tells the other side of a report of theft that it was made, answered or closed. */
export const tellTheft = defineJob({
  name: 'custody.tell-theft',
  version: 1,
  payload: z.strictObject({ reportId: z.uuid(), what: z.enum(['reported', 'replied', 'closed']) }),
  attempts: 8,
});

/** Kinds of the notices this job writes, by what happened. */
export const THEFT_NOTICES = {
  reported: 'theft_reported',
  replied: 'theft_replied',
  closed: 'theft_report_closed',
} as const;

/** Body of all three. Nobody is named. */
export const theftNotice = z.strictObject({ reportId: z.uuid(), registerNumber: z.string(), remedy: z.string() });

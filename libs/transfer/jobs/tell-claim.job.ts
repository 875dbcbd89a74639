import { z } from 'zod';
import { defineJob } from '../../platform/outbox/index.js';

/** What happened in a claim of ownership. */
export const CLAIM_NEWS = ['made', 'replied', 'proposed', 'agreed', 'settled', 'withdrawn', 'lapsed'] as const;

/**
 * Tells the other parties of a claim what happened in it. `by` are the numbers of whoever did it; `round` tells two of a kind
 * apart: the proposal, or the party that replied.
 */
export const tellClaim = defineJob({
  name: 'transfer.tell-claim',
  version: 1,
  payload: z.strictObject({
    claimId: z.uuid(),
    what: z.enum(CLAIM_NEWS),
    by: z.array(z.int()),
    round: z.int().min(0),
  }),
  attempts: 8,
});

/** Kinds of the notices this job writes, by what happened. */
export const CLAIM_NOTICES = {
  made: 'ownership_claimed',
  replied: 'claim_replied',
  proposed: 'claim_shares_proposed',
  agreed: 'claim_shares_agreed',
  settled: 'claim_settled',
  withdrawn: 'claim_withdrawn',
  lapsed: 'claim_lapsed',
} as const satisfies Record<(typeof CLAIM_NEWS)[number], string>;

/** Kind of the notice that reminds a claimant of the last day to answer; its due day is that day. */
export const CLAIM_ANSWER_DUE = 'claim_answer_due';

/** Body of all of them. Nobody is named, and nothing of what was said: helpers read notices too. */
export const claimNotice = z.strictObject({ claimId: z.uuid(), remedy: z.string() });

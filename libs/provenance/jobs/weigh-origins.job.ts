import { z } from 'zod';
import { defineJob } from '../../platform/outbox/index.js';

/** Animals that one transaction weighs at most: each is locked meanwhile. */
export const BATCH = 250;

/** Weighs the origin of these animals, and nothing below them. */
export const weighOrigins = defineJob({
  name: 'provenance.weigh-origins',
  version: 1,
  payload: z.strictObject({ animalIds: z.array(z.uuid()).min(1).max(BATCH) }),
  attempts: 8,
});

/** Kind of the notice that a verdict changed; its due day is the last day to answer a slip. */
export const ORIGIN_FINDING_CHANGED = 'origin_finding_changed';

/** Days a keeper has to answer a slip, in private. */
export const ANSWER_DAYS = 14;

const verdict = z.enum(['documented', 'consistent', 'stated_only', 'contradicted']);

/** Body of a notice of kind `origin_finding_changed`. */
export const originFindingChangedNotice = z.strictObject({
  animalId: z.uuid(),
  registerNumber: z.string(),
  /** Null when it was weighed for the first time. */
  before: verdict.nullable(),
  now: verdict,
  words: z.string(),
  /** What speaks against the claim, where something does. */
  reasons: z.array(z.string()),
  missing: z.array(z.string()),
  caution: z.string(),
});

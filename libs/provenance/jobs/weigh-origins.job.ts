import { z } from 'zod';
import { dayOf } from '../../kernel/index.js';
import { defineJob, OutboxWriter } from '../../platform/outbox/index.js';
import { type PrismaClient } from '../../platform/prisma/index.js';

/** Animals that one transaction weighs at most: each is locked meanwhile. */
export const BATCH = 250;

/** Weighs the origin of these animals, and nothing below them. */
export const weighOrigins = defineJob({
  name: 'provenance.weigh-origins',
  version: 1,
  payload: z.strictObject({ animalIds: z.array(z.uuid()).min(1).max(BATCH) }),
  attempts: 8,
});

/** Weighs what changed since it was last weighed, and what never was: a batch in the order of ids after `after`, then the next. */
export const sweepOrigins = defineJob({
  name: 'provenance.sweep-origins',
  version: 1,
  payload: z.strictObject({ day: z.iso.date(), after: z.uuid().nullable() }),
  attempts: 8,
});

/** Asks for the nightly sweep of the day of `slot`; asked twice for a day it is done once. */
export async function requestOriginSweep(client: PrismaClient, slot: Date): Promise<void> {
  const day = dayOf(slot);
  const outbox = new OutboxWriter(client, slot, { actorId: null, requestId: null });
  await outbox.send(sweepOrigins, { day, after: null }, { dedupeKey: sweepKey(day, null) });
}

/** Names one batch of a sweep. */
export function sweepKey(day: string, after: string | null): string {
  return `${sweepOrigins.name}:${day}:${after ?? 'first'}`;
}

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

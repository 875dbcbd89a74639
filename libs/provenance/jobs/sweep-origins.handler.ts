import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { type JobHandler, type MessageFacts } from '../../platform/jobs/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { OriginWeigher } from './origin-weigher.js';
import { followDown } from './recheck-origin.handler.js';
import { findStale } from './system-origin-check.store.js';
import { sweepKey, sweepOrigins } from './sweep-origins.job.js';
import { BATCH } from './weigh-origins.job.js';

type Payload = z.infer<typeof sweepOrigins.payload>;

/** The second net: weighs what changed since it was weighed, with its line, and what never was. Twice a night it finds nothing. */
@Injectable()
export class SweepOriginsHandler implements JobHandler<Payload> {
  readonly job = sweepOrigins;

  constructor(private readonly weigher: OriginWeigher) {}

  async handle(tx: Tx, { day, after }: Payload, message: MessageFacts): Promise<void> {
    const stale = await findStale(tx, after, BATCH);
    const fresh = stale.filter((animal) => !animal.seen).map((animal) => animal.id);
    const changed = stale.filter((animal) => animal.seen).map((animal) => animal.id);
    if (fresh.length > 0) await this.weigher.weigh(tx, fresh);
    if (changed.length > 0) await followDown(tx, this.weigher, changed, message.id);
    const last = stale.at(-1);
    if (last === undefined || stale.length < BATCH) return;
    await tx.outbox.send(sweepOrigins, { day, after: last.id }, { dedupeKey: sweepKey(day, last.id) });
  }
}

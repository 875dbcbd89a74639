import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { recheckOrigin } from '../../animal/index.js';
import { type JobHandler, type MessageFacts } from '../../platform/jobs/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { OriginWeigher } from './origin-weigher.js';
import { findLineDown } from './system-origin-check.store.js';
import { BATCH, weighOrigins } from './weigh-origins.job.js';

type Payload = z.infer<typeof recheckOrigin.payload>;

/** Animals of one line that a change is followed down to at most; the nightly sweep does not follow further either. */
const MAX_LINE = 20_000;

/** Weighs an animal and its line: the first batch here, the others as messages of their own. */
@Injectable()
export class RecheckOriginHandler implements JobHandler<Payload> {
  readonly job = recheckOrigin;

  constructor(private readonly weigher: OriginWeigher) {}

  async handle(tx: Tx, { animalId }: Payload, message: MessageFacts): Promise<void> {
    await followDown(tx, this.weigher, [animalId], message.id);
  }
}

/** Weighs animals and everything below them. `key` names the change, so that a batch is sent once. */
export async function followDown(
  tx: Tx,
  weigher: OriginWeigher,
  animalIds: readonly string[],
  key: string,
): Promise<void> {
  const line = await findLineDown(tx, animalIds, MAX_LINE);
  await weigher.weigh(tx, line.slice(0, BATCH));
  for (let start = BATCH; start < line.length; start += BATCH) {
    const batch = line.slice(start, start + BATCH);
    await tx.outbox.send(weighOrigins, { animalIds: batch }, { dedupeKey: `${weighOrigins.name}:${key}:${start}` });
  }
}

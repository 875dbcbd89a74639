import { z } from 'zod';
import { defineJob } from '../../platform/outbox/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/**
 * Asks the worker to weigh the origin of an animal and of everything that descends from it anew. The contract stands here,
 * because changes to animals and parents lead to it; libs/provenance handles it.
 */
export const recheckOrigin = defineJob({
  name: 'provenance.recheck-origin',
  version: 1,
  payload: z.strictObject({ animalId: z.uuid() }),
  attempts: 8,
});

/** Sends the job for each animal, in the transaction that changes what its finding rests on. */
export async function requestOriginRecheck(tx: Tx, animalIds: readonly string[]): Promise<void> {
  for (const animalId of new Set(animalIds)) await tx.outbox.send(recheckOrigin, { animalId });
}

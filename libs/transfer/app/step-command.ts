import { z } from 'zod';
import { forbidden, type Viewer } from '../../kernel/index.js';
import { type Grant } from '../../access/index.js';
import { shareBreeding } from '../../breeding/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { mayStep, sidesOf } from '../core/policy.core.js';
import { type Side, type Transfer } from '../core/transfer.core.js';
import { sharedBy } from '../eggs/transfer-eggs.store.js';
import { type Step, TRANSITIONS } from '../core/transitions.core.js';

/** What every step names: the transfer, and the version the viewer read, if it is to be checked. */
export const stepCommand = z.object({
  transferId: z.uuid('This is not the id of a transfer. | Use the id that `myTransfers` gives.'),
  expectedVersion: z.int().positive().nullish(),
});

export type StepCommand = z.infer<typeof stepCommand>;

/** Why something ended, in the words of one party, for the other. */
export const reasonInput = z
  .string()
  .trim()
  .min(1, 'A reason is needed. | Tell the other side why.')
  .max(500, 'The reason is too long. | Use at most 500 characters.');

/** What is kept of a step for a repeated request. */
export const stepOutcome = z.object({ transferId: z.uuid() });

export type StepOutcome = z.infer<typeof stepOutcome>;

/** Throws FORBIDDEN when the step is the other side's. Ask it about the locked transfer; `act` is the step in words. */
export function requireStep(
  viewer: Viewer,
  step: Step,
  transfer: Transfer,
  act = step === 'leaveOut' ? 'leave animals out of this transfer' : `${step} this transfer`,
): void {
  if (mayStep(viewer, step, transfer)) return;
  throw forbidden(`Only the ${TRANSITIONS[step].by.join(' or the ')} can ${act}.`);
}

/** The side for which the viewer takes a step that is open to both; the giver where the viewer acts for both. */
export function sideOf(viewer: Viewer, transfer: Transfer): Side {
  return sidesOf(viewer, transfer)[0] ?? 'giver';
}

/** Shares with the receiver what of the breeding records goes along, as it is now; nothing with an outside party. */
export async function shareWithReceiver(
  tx: Tx,
  { id, fromKeeperId, receiver, items, eggs }: Pick<Transfer, 'id' | 'fromKeeperId' | 'receiver' | 'items' | 'eggs'>,
): Promise<void> {
  if (receiver.kind !== 'keeper') return;
  await shareBreeding(tx, { id, fromKeeperId, keeperId: receiver.keeperId }, sharedBy({ items, eggs }));
}

/** The receiver's reading of the animals while the offer is open; nothing for an outside party. */
export function receiverGrants({ receiver, items }: Pick<Transfer, 'receiver' | 'items'>): Grant[] {
  if (receiver.kind !== 'keeper') return [];
  const { keeperId } = receiver;
  return items.map(({ animalId }) => ({ animalId, keeperId, relation: 'receiver' as const }));
}

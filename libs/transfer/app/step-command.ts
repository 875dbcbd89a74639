import { z } from 'zod';
import { forbidden, type Viewer } from '../../kernel/index.js';
import { type Grant } from '../../access/index.js';
import { mayStep } from '../core/policy.core.js';
import { type Transfer } from '../core/transfer.core.js';
import { type Step, TRANSITIONS } from '../core/transitions.core.js';

/** What every step names: the transfer, and the version the viewer read, if it is to be checked. */
export const stepCommand = z.object({
  transferId: z.uuid('This is not the id of a transfer. | Use the id that `myTransfers` gives.'),
  expectedVersion: z.int().positive().nullish(),
});

export type StepCommand = z.infer<typeof stepCommand>;

/** What is kept of a step for a repeated request. */
export const stepOutcome = z.object({ transferId: z.uuid() });

export type StepOutcome = z.infer<typeof stepOutcome>;

/** Throws FORBIDDEN when the step is the other side's. Ask it about the locked transfer. */
export function requireStep(viewer: Viewer, step: Step, transfer: Transfer): void {
  if (mayStep(viewer, step, transfer)) return;
  throw forbidden(`Only the ${TRANSITIONS[step].by} can ${step} this transfer.`);
}

/** The receiver's reading of the animals while the offer is open; nothing for an outside party. */
export function receiverGrants({ receiver, items }: Pick<Transfer, 'receiver' | 'items'>): Grant[] {
  if (receiver.kind !== 'keeper') return [];
  const { keeperId } = receiver;
  return items.map(({ animalId }) => ({ animalId, keeperId, relation: 'receiver' as const }));
}

import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { closeAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { cancelTransfer } from '../core/steps.core.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { TransferStore } from '../store/transfer.store.js';
import {
  reasonInput,
  receiverGrants,
  requireStep,
  sideOf,
  stepCommand,
  type StepOutcome,
  stepOutcome,
} from './step-command.js';
import { animalIdsOf, subjectsOf, transferCancelled } from './transfer-ledger.js';

/** A transfer, and why it is called off. */
export const cancelCommand = stepCommand.extend({ reason: reasonInput });

/** Either side calls off an accepted transfer before it is sent. The animals are free for another offer. */
@Injectable()
export class CancelTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RULE_REFUSED TRANSFER_NOT_CANCELLABLE. */
  async execute(viewer: Viewer, command: z.infer<typeof cancelCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.cancel', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      requireStep(viewer, 'cancel', transfer);
      const by = sideOf(viewer, transfer);
      const decision = cancelTransfer(transfer, { side: by, reason: command.reason }, tx.now);
      if (!decision.ok) return decision;
      // Before the items are freed, as when an offer is withdrawn.
      await lockAnimals(tx, animalIdsOf(transfer));
      await this.transfers.save(tx, transfer.version, decision.value);
      await closeAccess(tx, receiverGrants(transfer), tx.today);
      await tx.ledger.append(transferCancelled, {
        subjects: subjectsOf(transfer),
        body: { transferId: transfer.id, by },
        personal: { reason: command.reason },
      });
      await tellOtherSide(tx, transfer, by, 'cancelled');
      return decide({ transferId: transfer.id });
    });
  }
}

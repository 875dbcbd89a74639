import { Injectable } from '@nestjs/common';
import { closeAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { isAttested } from '../core/policy.core.js';
import { declineTransfer } from '../core/steps.core.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { TransferStore } from '../store/transfer.store.js';
import { receiverGrants, requireStep, type StepCommand, type StepOutcome, stepOutcome } from './step-command.js';
import { animalIdsOf, subjectsOf, transferDeclined } from './transfer-ledger.js';

/** The receiver does not take an offer; the giver records it for an outside party. The animals are free for another offer. */
@Injectable()
export class DeclineTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RULE_REFUSED TRANSFER_NOT_DECLINABLE. */
  async execute(viewer: Viewer, command: StepCommand): Promise<StepOutcome> {
    const request = { action: 'transfer.decline', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      requireStep(viewer, 'decline', transfer);
      const decision = declineTransfer(transfer, tx.now);
      if (!decision.ok) return decision;
      // Before the items are freed: a new offer of the same animals holds these locks, and must not wait for ours while we wait for its.
      await lockAnimals(tx, animalIdsOf(transfer));
      await this.transfers.save(tx, transfer.version, decision.value);
      await closeAccess(tx, receiverGrants(transfer), tx.today);
      await tx.ledger.append(transferDeclined, {
        subjects: subjectsOf(transfer),
        body: { transferId: transfer.id, attestedByGiver: isAttested('decline', transfer) },
      });
      await tellOtherSide(tx, transfer, 'receiver', 'declined');
      return decide({ transferId: transfer.id });
    });
  }
}

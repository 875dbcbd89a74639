import { Injectable } from '@nestjs/common';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { isAttested } from '../core/policy.core.js';
import { acceptTransfer } from '../core/steps.core.js';
import { TransferStore } from '../store/transfer.store.js';
import { requireStep, type StepCommand, type StepOutcome, stepOutcome } from './step-command.js';
import { subjectsOf, transferAccepted } from './transfer-ledger.js';

/** The receiver takes an offer; the giver records it for an outside party. */
@Injectable()
export class AcceptTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RULE_REFUSED TRANSFER_NOT_OFFERED, TRANSFER_OFFER_EXPIRED. */
  async execute(viewer: Viewer, command: StepCommand): Promise<StepOutcome> {
    const request = { action: 'transfer.accept', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      requireStep(viewer, 'accept', transfer);
      const decision = acceptTransfer(transfer, tx);
      if (!decision.ok) return decision;
      await this.transfers.save(tx, transfer.version, decision.value);
      await tx.ledger.append(transferAccepted, {
        subjects: subjectsOf(transfer),
        body: { transferId: transfer.id, attestedByGiver: isAttested('accept', transfer) },
      });
      return decide({ transferId: transfer.id });
    });
  }
}

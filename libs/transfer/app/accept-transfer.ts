import { Injectable } from '@nestjs/common';
import { decide, type Decision, type Viewer } from '../../kernel/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { isAttested } from '../core/policy.core.js';
import { acceptTransfer } from '../core/steps.core.js';
import { type Transfer } from '../core/transfer.core.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { mayComeTo } from '../checks/countersign.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { requireStep, type StepCommand, type StepOutcome, stepOutcome } from './step-command.js';
import { animalIdsOf, subjectsOf, transferAccepted } from './transfer-ledger.js';

/** The receiver takes an offer; the giver records it for an outside party. */
@Injectable()
export class AcceptTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RULE_REFUSED TRANSFER_NOT_OFFERED, TRANSFER_OFFER_EXPIRED, GUARDIAN_AWAITED, TAXON_DANGEROUS. */
  async execute(viewer: Viewer, command: StepCommand): Promise<StepOutcome> {
    const request = { action: 'transfer.accept', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      requireStep(viewer, 'accept', transfer);
      const accepted = await this.within(tx, viewer, transfer);
      if (!accepted.ok) return accepted;
      await tellOtherSide(tx, transfer, 'receiver', 'accepted');
      return decide({ transferId: transfer.id });
    });
  }

  /** The step itself, on a locked transfer whose receiver the viewer acts for; tells nobody. Gives it as it is then. */
  async within(tx: Tx, viewer: Viewer, transfer: Transfer): Promise<Decision<Transfer>> {
    const decision = acceptTransfer(transfer, tx);
    if (!decision.ok) return decision;
    // Only a keeper that is or was a minor's can be stopped; the transfer was read with that.
    const minor = transfer.countersigning.some(({ side }) => side === 'receiver');
    if (minor && transfer.receiver.kind === 'keeper') {
      const may = await mayComeTo(tx, viewer, 'transfer', transfer.receiver.keeperId, {
        animalIds: animalIdsOf(transfer),
        clutchIds: transfer.eggs.map(({ clutchId }) => clutchId),
      });
      if (!may.ok) return may;
    }
    await this.transfers.save(tx, transfer.version, decision.value);
    await tx.ledger.append(transferAccepted, {
      subjects: subjectsOf(transfer),
      body: { transferId: transfer.id, attestedByGiver: isAttested('accept', transfer) },
    });
    return decide({ ...decision.value, version: transfer.version + 1 });
  }
}

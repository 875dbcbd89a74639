import { Injectable } from '@nestjs/common';
import { decide, forbidden, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type StepCommand, type StepOutcome, stepOutcome } from '../app/step-command.js';
import { countersignatureWithdrawn, subjectsOf } from '../app/transfer-ledger.js';
import { tellOtherSide, tellTransfer } from '../jobs/tell-transfer.job.js';
import { TransferStore } from '../store/transfer.store.js';
import { withdrawCountersignature } from './countersign.core.js';
import { guardedSides, moveOnCountersigned, voidCountersignature } from './countersign.store.js';

/** A guardian takes back that it agreed to a transfer: it waits again, and another guardian of the keeper may sign. */
@Injectable()
export class WithdrawCountersignature {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** For both sides where the viewer guards both. NOT_FOUND, FORBIDDEN, STALE_VERSION and what `withdrawCountersignature` refuses. */
  async execute(viewer: Viewer, command: StepCommand): Promise<StepOutcome> {
    const request = { action: 'transfer.withdraw-countersignature', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      const keepers = await guardedSides(tx, viewer, transfer);
      if (keepers.length === 0) throw forbidden('Only a guardian takes a countersignature back.');
      const guarded = keepers.map(({ side }) => side);
      const decision = withdrawCountersignature(transfer, guarded);
      if (!decision.ok) return decision;
      for (const side of decision.value) await voidCountersignature(tx, transfer.id, side);
      const withdrawn = keepers.filter(({ side }) => decision.value.includes(side));
      const keeperIds = withdrawn.map(({ keeperId }) => keeperId);
      await moveOnCountersigned(tx, this.transfers, transfer, keeperIds);
      await tx.ledger.append(countersignatureWithdrawn, {
        subjects: subjectsOf(transfer),
        body: { transferId: transfer.id, sides: decision.value },
      });
      for (const { side, keeperId } of withdrawn) {
        // Of an offer the other side was not told that somebody had to countersign.
        if (transfer.state !== 'offered') await tellOtherSide(tx, transfer, side, 'countersignature_withdrawn');
        await tx.outbox.send(tellTransfer, { transferId: transfer.id, keeperId, what: 'countersignature_withdrawn' });
      }
      return decide({ transferId: transfer.id });
    });
  }
}

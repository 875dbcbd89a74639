import { Injectable } from '@nestjs/common';
import { decide, forbidden, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { countersignTransfer } from './countersign.core.js';
import { tellOtherSide, tellTransfer } from '../jobs/tell-transfer.job.js';
import { guardedSides, insertCountersignature, moveOnCountersigned } from './countersign.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { type StepCommand, type StepOutcome, stepOutcome } from '../app/step-command.js';
import { subjectsOf, transferCountersigned } from '../app/transfer-ledger.js';

/** A guardian agrees to a transfer for the keeper it guards, before anything is sent. */
@Injectable()
export class CountersignTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** For both sides where the viewer guards both. NOT_FOUND, FORBIDDEN, STALE_VERSION and what `countersignTransfer` refuses. */
  async execute(viewer: Viewer, command: StepCommand): Promise<StepOutcome> {
    const request = { action: 'transfer.countersign', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      const keepers = await guardedSides(tx, viewer, transfer);
      if (keepers.length === 0) throw forbidden('Only a guardian countersigns a transfer.');
      const guarded = keepers.map(({ side }) => side);
      const decision = countersignTransfer(transfer, guarded, tx.today);
      if (!decision.ok) return decision;
      const signed = keepers.filter(({ side }) => decision.value.includes(side));
      for (const each of signed)
        await insertCountersignature(tx, { transferId: transfer.id, accountId: viewer.accountId, ...each });
      const keeperIds = signed.map(({ keeperId }) => keeperId);
      await moveOnCountersigned(tx, this.transfers, transfer, keeperIds);
      await tx.ledger.append(transferCountersigned, {
        subjects: subjectsOf(transfer),
        body: { transferId: transfer.id, sides: decision.value },
      });
      for (const { side, keeperId } of signed) {
        // Of an offer the other side is not told that somebody has to countersign.
        if (transfer.state !== 'offered') await tellOtherSide(tx, transfer, side, 'countersigned');
        // The minor and others who act for the keeper hear of it too.
        await tx.outbox.send(tellTransfer, { transferId: transfer.id, keeperId, what: 'countersigned' });
      }
      return decide({ transferId: transfer.id });
    });
  }
}

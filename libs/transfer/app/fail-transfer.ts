import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { closeAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { failTransfer } from '../core/failure.core.js';
import { sidesOf } from '../core/policy.core.js';
import { FAILURES, type Side, type Transfer } from '../core/transfer.core.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { TransferStore } from '../store/transfer.store.js';
import {
  reasonInput,
  receiverGrants,
  requireStep,
  stepCommand,
  type StepOutcome,
  stepOutcome,
} from './step-command.js';
import { animalIdsOf, subjectsOf, transferFailed } from './transfer-ledger.js';

/** A transfer that was sent, and how it came to nothing. */
export const failCommand = stepCommand.extend({ failure: z.enum(FAILURES), reason: reasonInput.nullish() });

/**
 * One side says that what was sent came back or never arrived; the other side confirms it with the same call. Then everything
 * is as it was: the giver has held the animals all the time, and they are free for another offer.
 */
@Injectable()
export class FailTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, STALE_VERSION, RULE_REFUSED TRANSFER_NOT_SENT and what `failTransfer` refuses. */
  async execute(viewer: Viewer, command: z.infer<typeof failCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.fail', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      requireStep(viewer, 'fail', transfer);
      const alone = transfer.receiver.kind === 'outside_party';
      const side = speaksFor(viewer, transfer);
      const said = { kind: command.failure, side, alone, reason: command.reason ?? null };
      const decision = failTransfer(transfer, said, tx.now);
      if (!decision.ok) return decision;
      const confirmed = decision.value.state === 'failed';
      if (confirmed) await lockAnimals(tx, animalIdsOf(transfer));
      await this.transfers.save(tx, transfer.version, decision.value);
      if (confirmed) await closeAccess(tx, receiverGrants(transfer), tx.today);
      await tx.ledger.append(transferFailed, {
        subjects: subjectsOf(transfer),
        body: {
          transferId: transfer.id,
          by: side,
          kind: command.failure,
          confirmed,
          attestedByGiver: confirmed && alone,
        },
        ...(typeof command.reason === 'string' ? { personal: { reason: command.reason } } : {}),
      });
      await tellOtherSide(tx, transfer, side, confirmed ? 'failed' : 'failure_declared');
      return decide({ transferId: transfer.id });
    });
  }
}

/** Who acts for both sides speaks for the one that has not spoken. */
function speaksFor(viewer: Viewer, transfer: Transfer): Side {
  const sides = sidesOf(viewer, transfer);
  const declaredBy = transfer.state === 'sent' ? transfer.failure?.declaredBy : undefined;
  return sides.find((side) => side !== declaredBy) ?? sides[0] ?? 'giver';
}

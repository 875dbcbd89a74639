import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, forbidden, guards, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { sidesOf } from '../core/policy.core.js';
import { FINAL_STATES } from '../core/transitions.core.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { voidCountersignature } from '../checks/countersign.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { stepCommand, type StepOutcome, stepOutcome } from './step-command.js';
import { conditionSettled, subjectsOf } from './transfer-ledger.js';

/** A condition of a transfer, and what the receiver says of it. */
export const settleConditionCommand = stepCommand.extend({
  conditionId: z.uuid('This is not the id of a condition. | Use the id that the transfer gives.'),
  settledAs: z.enum(['met', 'waived']),
});

/** The receiver says that a condition has come to pass, or waives it; the giver does so for an outside party. */
@Injectable()
export class SettleCondition {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RULE_REFUSED TRANSFER_CONDITION_SETTLED. */
  async execute(viewer: Viewer, command: z.infer<typeof settleConditionCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.settle-condition', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      const attested = transfer.receiver.kind === 'outside_party';
      if (!attested && !sidesOf(viewer, transfer).includes('receiver')) {
        throw forbidden('Only the receiver can settle a condition.');
      }
      const condition = transfer.conditions.find(({ id }) => id === command.conditionId);
      if (condition === undefined) throw notFound('condition');
      if (condition.settledAs !== null || transfer.state === 'sent' || FINAL_STATES.includes(transfer.state)) {
        return refuse(
          'TRANSFER_CONDITION_SETTLED',
          'It is settled, or the animals are sent: nothing is left to decide.',
        );
      }
      await this.transfers.save(tx, transfer.version, transfer);
      await this.transfers.settleCondition(tx, condition.id, command.settledAs);
      const { conditionId, settledAs } = command;
      // A guardian agreed to receive with this condition: whoever else waives it changes what was agreed to.
      if (settledAs === 'waived' && transfer.receiver.kind === 'keeper' && !guards(viewer, transfer.receiver.keeperId))
        await voidCountersignature(tx, transfer.id, 'receiver');
      const body = { transferId: transfer.id, conditionId, settledAs, attestedByGiver: attested };
      await tx.ledger.append(conditionSettled, { subjects: subjectsOf(transfer), body });
      await tellOtherSide(tx, transfer, 'receiver', 'condition_settled');
      return decide({ transferId: transfer.id });
    });
  }
}

import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { lockAnimals } from '../../animal/index.js';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { sendTransfer } from '../core/steps.core.js';
import { readAnimalsAtHand } from '../store/animals-at-hand.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { requireStep, stepCommand, type StepOutcome, stepOutcome } from './step-command.js';
import { animalIdsOf, subjectsOf, transferSent } from './transfer-ledger.js';
import { dayInput } from '../../platform/input/index.js';

/** A transfer and the day its animals left the giver's hands. */
export const sendCommand = stepCommand.extend({ sentOn: dayInput });

/** The giver sends the animals, or hands them over. The giver holds them on paper until they are received. */
@Injectable()
export class SendTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RULE_REFUSED TRANSFER_NOT_ACCEPTED and what `sendTransfer` refuses. */
  async execute(viewer: Viewer, command: z.infer<typeof sendCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.send', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      requireStep(viewer, 'send', transfer);
      await lockAnimals(tx, animalIdsOf(transfer));
      const animals = await readAnimalsAtHand(tx, transfer.fromKeeperId, animalIdsOf(transfer), transfer.id);
      const decision = sendTransfer(transfer, command.sentOn, animals, tx.today);
      if (!decision.ok) return decision;
      await this.transfers.save(tx, transfer.version, decision.value);
      await tx.ledger.append(transferSent, {
        subjects: subjectsOf(transfer),
        body: { transferId: transfer.id, sentOn: command.sentOn },
      });
      return decide({ transferId: transfer.id });
    });
  }
}

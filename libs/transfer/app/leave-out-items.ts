import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { closeAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { endShares, lockEggs, type ShareSubject, takeOffWay } from '../../breeding/index.js';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { leaveOut } from '../core/receive.core.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { pendingEggs } from '../eggs/transfer-eggs.core.js';
import { type Transfer } from '../core/transfer.core.js';
import { sharedInVain, sharedWithout } from '../eggs/settle-eggs.js';
import { saveEggs } from '../eggs/transfer-eggs.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { eggsNamed } from './offer-contents.js';
import { receiverGrants, requireStep, stepCommand, type StepOutcome, stepOutcome } from './step-command.js';
import { animalIdsOf, itemsLeftOut, subjectsOf } from './transfer-ledger.js';

/** A transfer that was sent, and the animals that were not. */
export const leaveOutCommand = stepCommand
  .extend({
    animalIds: z
      .array(z.uuid('This is not the id of an animal. | Use the ids of the items of the transfer.'))
      .max(100, 'A transfer holds at most 100 animals and lots. | Name those that were not sent.'),
    eggs: z.array(eggsNamed).max(100, 'There are too many clutches. | Name those whose eggs were not sent.').nullish(),
  })
  .refine(({ animalIds, eggs }) => animalIds.length + (eggs?.length ?? 0) > 0, {
    path: ['animalIds'],
    message: 'Nothing is named. | Name the animals or eggs that were not sent.',
  });

/** The giver says that some of the animals were not sent after all; they stay with the giver and are free again. */
@Injectable()
export class LeaveOutItems {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RULE_REFUSED TRANSFER_NOT_SENT and what `leaveOut` refuses. */
  async execute(viewer: Viewer, command: z.infer<typeof leaveOutCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.leave-out', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      requireStep(viewer, 'leaveOut', transfer);
      const decision = leaveOut(transfer, command.animalIds, tx.now, command.eggs ?? []);
      if (!decision.ok) return decision;
      await lockAnimals(tx, animalIdsOf(transfer));
      await lockEggs(tx, transfer.eggs);
      const left = decision.value.items.filter(({ animalId }) => command.animalIds.includes(animalId));
      await this.transfers.save(tx, transfer.version, decision.value);
      await this.transfers.saveItems(tx, left);
      const known = new Set(pendingEggs(decision.value).map(({ eggId }) => eggId));
      const eggs = pendingEggs(transfer).flatMap((egg) => (known.has(egg.eggId) ? [] : [{ ...egg, notSent: true }]));
      await saveEggs(tx, transfer.id, eggs);
      await takeOffWay(
        tx,
        transfer.id,
        eggs.map(({ eggId }) => eggId),
      );
      await endShares(tx, transfer.id, sharedNoMore(transfer, decision.value));
      await closeAccess(tx, receiverGrants({ receiver: transfer.receiver, items: left }), tx.today);
      await tx.ledger.append(itemsLeftOut, {
        subjects: subjectsOf(transfer),
        body: {
          transferId: transfer.id,
          animalIds: animalIdsOf({ items: left }),
          ...(eggs.length > 0
            ? { eggs: eggs.map(({ eggId, clutchId, number }) => ({ eggId, clutchId, number })) }
            : {}),
          closed: decision.value.state === 'received',
        },
      });
      await tellOtherSide(tx, transfer, 'giver', 'left_out');
      return decide({ transferId: transfer.id });
    });
  }
}

/** What went along with what was left out; once nothing more is on its way, also what stayed with the giver otherwise. */
function sharedNoMore(before: Transfer, after: Transfer): ShareSubject[] {
  const left = sharedWithout(before, after);
  return after.state === 'received' ? [...left, ...sharedInVain(after)] : left;
}

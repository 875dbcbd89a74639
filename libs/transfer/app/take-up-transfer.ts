import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { openAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { claimEggs, lockEggs } from '../../breeding/index.js';
import { animalsOfOutsideParty, currentCustody, reassign, sameHolder } from '../../custody/index.js';
import { startArrivalQuarantine } from '../../health/index.js';
import { actsFor, compareDays, decide, DomainError, invalidInput, notFound, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { arrivedAlive, pendingItems } from '../core/receive.core.js';
import { parseSpokenCode } from '../hand-over/spoken-code.core.js';
import { takeUpTransfer } from '../core/take-up.core.js';
import { remindArrivalQuarantine } from '../jobs/remind-arrival-quarantine.job.js';
import { SpokenCodes } from '../hand-over/spoken-codes.js';
import { insertCountersignature, mayComeTo } from '../checks/countersign.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { shareWhatArrived } from '../eggs/settle-eggs.js';
import { receiverGrants, type StepOutcome, stepOutcome } from './step-command.js';
import { animalIdsOf, subjectsOf, transferTakenUp } from './transfer-ledger.js';

/** The code from the paper, and the keeper the animals are now kept by. */
export const takeUpCommand = z.object({ claimCode: z.string().max(100), keeperId: z.uuid() });

/** Somebody who got animals without an account has one now and takes their record up. */
@Injectable()
export class TakeUpTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
    private readonly codes: SpokenCodes,
  ) {}

  /**
   * From then on the animals are, and have been since the hand-over, the keeper's. Throws INVALID_INPUT for a mistyped
   * code; RULE_REFUSED GUARDIAN_SPEAKS, GUARDIAN_AWAITED, TAXON_DANGEROUS for a minor's keeper; NOT_FOUND with one text for a code that is wrong, used, or of a transfer that came to nothing.
   */
  async execute(viewer: Viewer, command: z.infer<typeof takeUpCommand>): Promise<StepOutcome> {
    const { keeperId } = command;
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const code = parseSpokenCode(command.claimCode);
    if (code === null) throw mistyped();
    const request = { action: 'transfer.take-up', input: { code, keeperId }, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lockByClaimHash(tx, this.codes.hash(code));
      if (transfer?.receiver.kind !== 'outside_party') throw nothingWaits();
      const { outsidePartyId } = transfer.receiver;
      const decision = takeUpTransfer(transfer, keeperId, tx.now);
      if (!decision.ok) return decision;
      const animalIds = [...animalIdsOf(transfer), ...(await animalsOfOutsideParty(tx, outsidePartyId))];
      await lockAnimals(tx, animalIds);
      const may = await mayComeTo(tx, viewer, 'take_up', keeperId, {
        animalIds,
        clutchIds: transfer.eggs.map(({ clutchId }) => clutchId),
      });
      if (!may.ok) return may;
      await reassign(tx, { outsidePartyId, keeperId });
      await this.transfers.markTakenUp(tx, outsidePartyId, keeperId);
      await this.transfers.save(tx, transfer.version, decision.value);
      // A guardian who takes up for a minor's keeper has agreed with that; nobody else can.
      if (may.value.minor)
        await insertCountersignature(tx, {
          transferId: transfer.id,
          side: 'receiver',
          keeperId,
          accountId: viewer.accountId,
        });
      await lockEggs(tx, transfer.eggs);
      await claimEggs(tx, transfer.id, keeperId);
      await shareWhatArrived(tx, decision.value);
      let quarantineGroupId: string | null = null;
      const alive = arrivedAlive(transfer.items);
      const days = transfer.items.flatMap(({ receivedOn }) => receivedOn ?? []).sort(compareDays);
      const on = days.at(-1);
      if (on !== undefined) {
        const custody = await currentCustody(tx, animalIds);
        const isHere = (id: string): boolean => {
          const held = custody.get(id);
          return held !== undefined && sameHolder(held.holder, { kind: 'keeper', keeperId });
        };
        quarantineGroupId = await startArrivalQuarantine(tx, {
          keeperId,
          transferId: transfer.id,
          // What has gone on since is somebody else's to keep apart.
          animalIds: alive.filter(isHere),
          on,
        });
        const dedupeKey = `${remindArrivalQuarantine.name}:${transfer.id}:${keeperId}`;
        await tx.outbox.send(remindArrivalQuarantine, { transferId: transfer.id, keeperId }, { dedupeKey });
      }
      const waiting = transfer.state === 'received' ? [] : pendingItems(transfer);
      await openAccess(tx, receiverGrants({ receiver: decision.value.receiver, items: waiting }), tx.today);
      await tx.ledger.append(transferTakenUp, {
        subjects: subjectsOf(transfer),
        body: { transferId: transfer.id, outsidePartyId, keeperId, quarantineGroupId },
      });
      return decide({ transferId: transfer.id });
    });
  }
}

function mistyped(): DomainError {
  return invalidInput([
    {
      path: 'input.claimCode',
      message: 'This is not a claim code: a character is wrong, missing or swapped.',
      remedy: 'Compare it with the paper, character by character: four groups of five.',
    },
  ]);
}

function nothingWaits(): DomainError {
  return new DomainError('NOT_FOUND', 'No record waits to be taken up under this code.');
}

import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { closeAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { leaveQuarantine, startArrivalQuarantine } from '../../health/index.js';
import { decide, type Decision, type Viewer } from '../../kernel/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { isAttested } from '../core/policy.core.js';
import { arrivedAlive, receiveTransfer, titleMovesOnReceipt } from '../core/receive.core.js';
import { ARRIVAL_STATES, type Transfer } from '../core/transfer.core.js';
import { remindArrivalQuarantine } from '../jobs/remind-arrival-quarantine.job.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { readAnimalsAtHand } from '../store/animals-at-hand.store.js';
import { endWaitingOfReturned } from '../title/payment.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { eggsNamed } from './offer-contents.js';
import { settleEggs, shareWhatArrived } from '../eggs/settle-eggs.js';
import { settleItem } from './settle-item.js';
import { receiverGrants, requireStep, stepCommand, type StepOutcome, stepOutcome } from './step-command.js';
import { animalIdsOf, subjectsOf, transferReceived } from './transfer-ledger.js';
import { dayInput } from '../../platform/input/index.js';

/** A transfer, the day its animals arrived, and how each of them did. */
export const receiveCommand = stepCommand.extend({
  receivedOn: dayInput,
  items: z
    .array(
      z.object({
        animalId: z.uuid('This is not the id of an animal. | Use the ids of the items of the transfer.'),
        arrivals: z
          .array(
            z.object({
              state: z.enum(ARRIVAL_STATES),
              count: z.int().positive('A count is at least 1. | Leave out states in which none arrived.'),
            }),
          )
          .min(1, 'Nothing is received by itself. | Say how it arrived.'),
        note: z.string().trim().max(1000, 'The note is too long. | Use at most 1,000 characters.').nullish(),
      }),
    )
    .max(100),
  eggs: z
    .array(eggsNamed.extend({ state: z.enum(ARRIVAL_STATES) }))
    .max(200, 'There are too many groups of eggs. | Name the eggs of one state and clutch together.')
    .nullish(),
  moreToCome: z.boolean().nullish(),
});

/**
 * The receiver says how everything arrived, and what arrived is the receiver's from that day; the giver records it for
 * an outside party. Custody, ownership, access, deaths and what stays behind are written together or not at all.
 */
@Injectable()
export class ReceiveTransfer {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN, STALE_VERSION, RULE_REFUSED TRANSFER_NOT_SENT and what `receiveTransfer` refuses. */
  async execute(viewer: Viewer, command: z.infer<typeof receiveCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.receive', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId, command.expectedVersion);
      requireStep(viewer, 'receive', transfer);
      return this.within(tx, transfer, command);
    });
  }

  /** The step itself, on a locked transfer. */
  async within(
    tx: Tx,
    transfer: Transfer,
    command: Omit<z.infer<typeof receiveCommand>, 'transferId' | 'expectedVersion'>,
  ): Promise<Decision<StepOutcome>> {
    await lockAnimals(tx, animalIdsOf(transfer));
    const { fromKeeperId: giverId, receiver } = transfer;
    const animals = await readAnimalsAtHand(tx, giverId, animalIdsOf(transfer), transfer.id);
    const arrivals = {
      on: command.receivedOn,
      items: command.items,
      eggs: command.eggs ?? [],
      moreToCome: command.moreToCome === true,
    };
    const decision = receiveTransfer(transfer, arrivals, animals, tx);
    if (!decision.ok) return decision;

    const { transfer: received, plans, eggs } = decision.value;
    const told = plans.map(({ item }) => item);
    const items = [];
    for (const { item, steps } of plans) {
      const settlement = {
        transferId: transfer.id,
        animalId: item.animalId,
        kind: animals.get(item.animalId)?.kind ?? 'individual',
        giverId,
        receiver,
        reporterId: receiver.kind === 'keeper' ? receiver.keeperId : giverId,
        on: command.receivedOn,
        titleMoves: titleMovesOnReceipt(transfer),
        share: item.share,
      };
      const settled = await settleItem(tx, settlement, steps);
      if (!settled.ok) return settled;
      items.push({ animalId: item.animalId, arrivals: [...item.arrivals], splitBack: settled.value });
    }
    const landed = await settleEggs(tx, transfer, eggs, command.receivedOn);
    if (!landed.ok) return landed;
    const moved = plans.filter(({ steps }) => steps.some((step) => step.do === 'move'));
    await leaveQuarantine(tx, animalIdsOf({ items: moved.map(({ item }) => item) }), command.receivedOn);
    await this.transfers.save(tx, transfer.version, received);
    await this.transfers.saveItems(tx, told);
    if (transfer.kind === 'loan_return') await endWaitingOfReturned(tx, giverId);
    await closeAccess(tx, receiverGrants({ receiver, items: told }), tx.today);
    await shareWhatArrived(tx, received);
    let quarantineGroupId: string | null = null;
    if (receiver.kind === 'keeper') {
      const { keeperId } = receiver;
      quarantineGroupId = await startArrivalQuarantine(tx, {
        keeperId,
        // What comes later is kept apart by itself: those who came first need not wait for it.
        transferId: arrivedAlive(transfer.items).length === 0 ? transfer.id : null,
        animalIds: arrivedAlive(told),
        on: command.receivedOn,
      });
      const dedupeKey = `${remindArrivalQuarantine.name}:${transfer.id}:${keeperId}`;
      await tx.outbox.send(remindArrivalQuarantine, { transferId: transfer.id, keeperId }, { dedupeKey });
    }
    await tx.ledger.append(transferReceived, {
      subjects: [...subjectsOf(transfer), ...items.flatMap((item) => item.splitBack.map((split) => split.animalId))],
      body: {
        transferId: transfer.id,
        attestedByGiver: isAttested('receive', transfer),
        receivedOn: command.receivedOn,
        items,
        ...(eggs.length > 0
          ? { eggs: eggs.map(({ eggId, clutchId, number, arrival }) => ({ eggId, clutchId, number, arrival })) }
          : {}),
        quarantineGroupId,
      },
      personal: Object.fromEntries(
        told.flatMap(({ animalId, note }) => (note === null ? [] : [[`note.${animalId}`, note]])),
      ),
    });
    await tellOtherSide(tx, transfer, 'receiver', 'received');
    return decide({ transferId: transfer.id });
  }
}

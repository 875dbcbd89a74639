import { handOver, loseFromLot, recordDeath, recordGone, splitLot } from '../../custody/index.js';
import { type Day, decide, type Decision, exactDay } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type ReceiptStep } from '../core/receive.core.js';
import { type Receiver, type Share } from '../core/transfer.core.js';
import { moveTitle } from '../title/move-title.js';

/** One received animal or lot, and between whom. */
export type Settlement = {
  readonly transferId: string;
  readonly animalId: string;
  readonly kind: 'individual' | 'lot';
  readonly giverId: string;
  readonly receiver: Receiver;
  /** The keeper on whose behalf the arrival is recorded. */
  readonly reporterId: string;
  readonly on: Day;
  /** Whether the giver's property goes along now, and which part of the whole; null = all of it. */
  readonly titleMoves: boolean;
  readonly share: Share | null;
};

/** A record that stayed with the giver. */
export type SplitBack = { readonly animalId: string; readonly count: number; readonly missing: boolean };

/** Carries out the steps of a receipt on one locked animal or lot. Gives the records that stayed behind. */
export async function settleItem(
  tx: Tx,
  item: Settlement,
  steps: readonly ReceiptStep[],
): Promise<Decision<SplitBack[]>> {
  const back: SplitBack[] = [];
  for (const step of steps) {
    switch (step.do) {
      case 'split_back': {
        const split = await splitLot(tx, {
          lotId: item.animalId,
          count: step.count,
          on: item.on,
          keeperId: item.giverId,
        });
        if (!split.ok) return split;
        if (step.missing) {
          const missing = await markMissing(tx, split.value.id, item);
          if (!missing.ok) return missing;
        }
        back.push({ animalId: split.value.id, count: step.count, missing: step.missing });
        break;
      }
      case 'mark_missing': {
        const missing = await markMissing(tx, item.animalId, item);
        if (!missing.ok) return missing;
        break;
      }
      case 'move': {
        const moved = await move(tx, item);
        if (!moved.ok) return moved;
        break;
      }
      case 'die': {
        const died = await die(tx, item, step.count);
        if (!died.ok) return died;
        break;
      }
    }
  }
  return decide(back);
}

/** Custody goes to the receiver and, where it does not wait, the giver's property on the same day. */
async function move(tx: Tx, item: Settlement): Promise<Decision<null>> {
  const { animalId, on, receiver } = item;
  const moved = await handOver(tx, {
    animalId,
    to: receiver,
    on,
    leftBy: 'given',
    arrivedBy: 'received',
    ref: item.transferId,
  });
  return moved.ok && item.titleMoves ? moveTitle(tx, item) : moved;
}

async function die(tx: Tx, item: Settlement, count: number): Promise<Decision<unknown>> {
  const { animalId, on, reporterId: keeperId } = item;
  if (item.kind === 'lot') return loseFromLot(tx, { lotId: animalId, count, on, keeperId });
  return recordDeath(tx, { animalId, on, keeperId, cause: 'dead on arrival' });
}

/** It never arrived: it lives as far as is known, and nobody knows where. */
async function markMissing(tx: Tx, animalId: string, item: Settlement): Promise<Decision<null>> {
  return recordGone(tx, {
    animalId,
    keeperId: item.reporterId,
    fate: 'missing',
    on: item.on,
    when: exactDay(item.on),
    said: {},
    reason: 'Missing on arrival.',
    movesCustody: true,
  });
}

import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { closeAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { day as toDay } from '../../kernel/index.js';
import { type NewNotice, NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { receiverGrants } from '../app/step-command.js';
import { animalIdsOf, subjectsOf, transferExpired } from '../app/transfer-ledger.js';
import { expireTransfer } from '../core/steps.core.js';
import { type Transfer } from '../core/transfer.core.js';
import { TransferStore } from '../store/transfer.store.js';
import { expireKey, expireOffers, OFFER_EXPIRED, offerExpiredNotice } from './expire-offers.job.js';

type Payload = z.infer<typeof expireOffers.payload>;

/** Offers a transaction ends at most: it holds a lock on each of their animals. */
const BATCH = 100;

/**
 * Ends offers that nobody answered in time, each exactly once: they are locked while they are still offered, so that an
 * acceptance or withdrawal at the same moment comes before or after, never in between. Their animals are free again and the
 * receiver reads them no more; both sides are told.
 */
@Injectable()
export class ExpireOffersHandler implements JobHandler<Payload> {
  readonly job = expireOffers;

  constructor(
    private readonly transfers: TransferStore,
    private readonly notices: NoticeStore,
  ) {}

  async handle(tx: Tx, { day, batch }: Payload): Promise<void> {
    const today = toDay(day);
    const due = await this.transfers.lockOverdue(tx, today, BATCH);
    await lockAnimals(tx, due.flatMap(animalIdsOf));
    const notices: NewNotice[] = [];
    for (const transfer of due) {
      const expired = expireTransfer(transfer, { now: tx.now, today });
      if (expired?.answerBy === undefined || expired.answerBy === null) continue;
      await this.transfers.save(tx, transfer.version, expired);
      await closeAccess(tx, receiverGrants(transfer), tx.today);
      const body = { transferId: transfer.id, answerBy: expired.answerBy };
      await tx.ledger.append(transferExpired, { subjects: subjectsOf(transfer), body });
      notices.push(...noticesOf(transfer));
    }
    await this.notices.writeMany(tx, notices);
    if (due.length < BATCH) return;
    await tx.outbox.send(expireOffers, { day, batch: batch + 1 }, { dedupeKey: expireKey(today, batch + 1) });
  }
}

function noticesOf({ id, fromKeeperId, receiver, answerBy }: Transfer): NewNotice[] {
  const one = (keeperId: string, side: 'giver' | 'receiver'): NewNotice => ({
    keeperId,
    kind: OFFER_EXPIRED,
    body: offerExpiredNotice.parse({ transferId: id, side }),
    dueOn: answerBy,
    dedupeKey: `${OFFER_EXPIRED}:${id}:${side}`,
  });
  const giver = one(fromKeeperId, 'giver');
  return receiver.kind === 'keeper' ? [giver, one(receiver.keeperId, 'receiver')] : [giver];
}

import { type Day, day } from '../../libs/kernel/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { AgreeToShares } from '../../libs/transfer/claims/agree-to-shares.js';
import { ConfirmPayment, QuestionPayment } from '../../libs/transfer/title/answer-payment.js';
import { ClaimOwnership } from '../../libs/transfer/claims/claim-ownership.js';
import { DeclarePayment } from '../../libs/transfer/title/declare-payment.js';
import { ProposeShares } from '../../libs/transfer/claims/propose-shares.js';
import { ReplyToClaim } from '../../libs/transfer/claims/reply-to-claim.js';
import { WithdrawClaim } from '../../libs/transfer/claims/withdraw-claim.js';
import { ClaimStore } from '../../libs/transfer/claims/claim.store.js';
import { arrived, gift, type Party, type TransferWorld } from './transfer-world.js';
import { endQuarantine } from './end-quarantine.js';

/** The days on which hand-overs of these tests happen. */
export const SENT = day('2026-06-01');
export const RECEIVED = day('2026-06-02');

/** Use cases about property and payment over a transfer world, and whole hand-overs in one call. */
export function titleWorld(w: TransferWorld) {
  const { uow, store, client } = w;
  const world = {
    declare: new DeclarePayment(uow, store),
    confirm: new ConfirmPayment(uow, store),
    question: new QuestionPayment(uow, store),
    claim: new ClaimOwnership(uow),
    reply: new ReplyToClaim(uow),
    propose: new ProposeShares(uow),
    agree: new AgreeToShares(uow),
    withdrawClaim: new WithdrawClaim(uow),
    claims: new ClaimStore({ client } as Database),

    /** Accepts and sends an offered transfer. */
    async underWay(transferId: string, from: Party, to: Party, sentOn: Day = SENT): Promise<void> {
      await w.accept.execute(to.viewer, { transferId });
      await w.send.execute(from.viewer, { transferId, sentOn });
    },

    /** A whole hand-over of one animal, or all of one lot. Gives the transfer's id. */
    async handOver(
      animalId: string,
      from: Party,
      to: Party,
      terms: object = {},
      on: { sent?: Day; received?: Day; count?: number } = {},
    ): Promise<string> {
      const { sent = SENT, received = RECEIVED, count = 1 } = on;
      const { transferId } = await w.offer.execute(from.viewer, { ...gift(from, to, animalId), ...terms });
      await world.underWay(transferId, from, to, sent);
      await w.receive.execute(to.viewer, {
        transferId,
        receivedOn: received,
        items: [arrived(animalId, { well: count })],
      });
      await endQuarantine(client, animalId, received);
      return transferId;
    },

    /** Declares a payment on the day of receipt. Gives its id. */
    async pay(transferId: string, by: Party, minor: number): Promise<string> {
      await world.declare.execute(by.viewer, { transferId, minor, paidOn: RECEIVED });
      const { transfer } = await store.getVisible(by.viewer, transferId);
      const id = transfer.payments.at(-1)?.id;
      if (id === undefined) throw new Error('No payment was recorded.');
      return id;
    },

    /** Periods of ownership in force, in order: from, to, state, and parts by party. */
    async ownership(animalId: string) {
      const rows = await client.ownership.findMany({
        where: { animalId, supersededAt: null },
        include: { shares: { orderBy: { id: 'asc' } } },
        orderBy: [{ validFrom: 'asc' }, { validTo: 'asc' }],
      });
      const text = (date: Date | null): string | null => date?.toISOString().slice(0, 10) ?? null;
      return rows.map((row) => ({
        from: text(row.validFrom),
        to: text(row.validTo),
        state: row.state,
        shares: row.shares.map((share) => [share.keeperId ?? share.outsidePartyId, share.parts]),
      }));
    },
  };
  return world;
}

/** Terms of a sale whose property waits for a price in cents. */
export function onPayment(minor: number, ...instalments: number[]) {
  const dueOn = ['2026-07-01', '2026-08-01', '2026-09-01'].map((text) => day(text));
  return {
    kind: 'sale' as const,
    title: 'when_paid' as const,
    price: { minor, currency: 'EUR' },
    instalments: instalments.map((part, i) => ({ minor: part, dueOn: dueOn[i] ?? day('2026-12-01') })),
  };
}

/** Terms of a loan. */
export const LOAN = { kind: 'breeding_loan' as const, dueBack: day('2026-09-01') };

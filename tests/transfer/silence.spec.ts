import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { day, decide } from '../../libs/kernel/index.js';
import { noticeGroup } from '../../libs/membership/notices/notice-group.core.js';
import { noticeMail } from '../../libs/membership/notices/notice-mail.core.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { LapseClaimsHandler, RemindInstalmentsHandler } from '../../libs/transfer/index.js';
import { INSTALMENT_DUE } from '../../libs/transfer/jobs/remind-instalments.job.js';
import { CLAIM_ANSWER_DUE, CLAIM_NOTICES, tellClaim } from '../../libs/transfer/jobs/tell-claim.job.js';
import { TellClaimHandler } from '../../libs/transfer/jobs/tell-claim.handler.js';
import { onPayment, titleWorld } from '../support/title-world.js';
import { gift, type Party, REGISTERED, TODAY, transferWorld, type TransferWorld } from '../support/transfer-world.js';

/** What the registry does by the clock when somebody owes an answer or a payment. */

const HALF = { share: { parts: 1, of: 2 }, since: REGISTERED, statement: 'We bought it together.' };
const REPLY = 'It was a gift.';
/** 60 days after TODAY, counted in a calendar, and the day after. */
const LAST = day('2026-08-09');
const OVER = day('2026-08-10');

let w: TransferWorld;
let t: ReturnType<typeof titleWorld>;
let notices: NoticeStore;
let claimant: Party;
let owner: Party;
let third: Party;
beforeAll(async () => {
  w = await transferWorld();
  t = titleWorld(w);
  notices = new NoticeStore({ client: w.client } as Database);
  [claimant, owner, third] = [await w.party('Claimant'), await w.party('Owner'), await w.party('Third')];
});
afterAll(() => w.close());

async function claimed(): Promise<{ animal: string; claimId: string }> {
  const animal = await w.animal(claimant);
  await t.handOver(animal, claimant, owner);
  const made = await t.claim.execute(claimant.viewer, { keeperId: claimant.keeperId, animalId: animal, ...HALF });
  return { animal, claimId: made.claimId };
}
const lapse = (on: string) =>
  w.uow.writeAsServer(null, async (tx) =>
    decide(await new LapseClaimsHandler(notices).handle(tx, { day: on, after: null })),
  );
/** Does what the claim left word of, and gives the kinds of notices about it, by party. */
async function told(claimId: string): Promise<[string, string, string | null][]> {
  const messages = await w.client.outboxMessage.findMany({
    where: { job: tellClaim.name, payload: { path: ['claimId'], equals: claimId } },
    orderBy: { id: 'asc' },
  });
  const handler = new TellClaimHandler(notices);
  for (const { payload } of [...messages, ...messages])
    await w.uow.writeAsServer(null, async (tx) => decide(await handler.handle(tx, tellClaim.payload.parse(payload))));
  const rows = await w.client.notice.findMany({
    where: { body: { path: ['claimId'], equals: claimId } },
    orderBy: { id: 'asc' },
  });
  return rows.map(({ keeperId, kind, dueOn }) => [
    keeperId === claimant.keeperId ? 'claimant' : 'owner',
    kind,
    dueOn?.toISOString().slice(0, 10) ?? null,
  ]);
}

describe('a claim whose claimant is silent', () => {
  it('is reminded of, lapses after the last day, frees the property and keeps both statements', async () => {
    const { animal, claimId } = await claimed();
    await t.reply.execute(owner.viewer, { claimId, statement: REPLY });
    await told(claimId);
    await lapse('2026-08-01');
    await lapse('2026-08-02');
    await lapse(LAST);
    expect((await t.claims.find(owner.viewer, claimId))?.outcome).toBeNull();
    await expect(w.offer.execute(owner.viewer, gift(owner, third, animal))).rejects.toMatchObject({
      rule: 'TRANSFER_OWNER_DISPUTED',
    });

    await lapse(OVER);
    await lapse(OVER);
    for (const { viewer } of [claimant, owner])
      expect(await t.claims.find(viewer, claimId)).toMatchObject({
        outcome: 'lapsed',
        statement: HALF.statement,
        parties: [{ reply: null }, { reply: REPLY }],
      });
    expect((await t.ownership(animal)).at(-1)).toMatchObject({ state: 'agreed', shares: [[owner.keeperId, 1]] });
    await w.offer.execute(owner.viewer, gift(owner, third, animal));
    expect(await told(claimId)).toEqual([
      ['owner', 'ownership_claimed', null],
      ['claimant', 'claim_replied', LAST],
      ['claimant', CLAIM_ANSWER_DUE, LAST],
      ['claimant', 'claim_lapsed', null],
      ['owner', 'claim_lapsed', null],
    ]);
    expect(await w.client.ledgerEntry.count({ where: { action: 'transfer.claim-lapsed' } })).toBe(1);
    // What is over is not claimed again before the animal has changed hands.
    await expect(
      t.claim.execute(claimant.viewer, { keeperId: claimant.keeperId, animalId: animal, ...HALF }),
    ).rejects.toMatchObject({ rule: 'CLAIM_NOT_NOW' });
  });

  it('goes on while the owners are silent, and once the claimant has answered', async () => {
    const unanswered = await claimed();
    const answered = await claimed();
    const { claimId } = answered;
    await t.reply.execute(owner.viewer, { claimId, statement: REPLY });
    const shares = [
      { party: 1, parts: 1 },
      { party: 2, parts: 1 },
    ];
    await t.propose.execute(claimant.viewer, { claimId, shares });
    await lapse('2036-01-01');
    for (const each of [unanswered, answered])
      expect((await t.claims.find(owner.viewer, each.claimId))?.endedAt).toBeNull();
    // With the owner's own proposal it is the claimant's turn again.
    await t.propose.execute(owner.viewer, { claimId, shares: [shares[0], { party: 2, parts: 9 }] as typeof shares });
    await lapse(OVER);
    expect((await t.claims.find(owner.viewer, claimId))?.outcome).toBe('lapsed');
    expect((await t.claims.find(owner.viewer, unanswered.claimId))?.endedAt).toBeNull();
  });

  it('has words of its own for each notice, and a group', () => {
    for (const kind of [...Object.values(CLAIM_NOTICES), CLAIM_ANSWER_DUE, INSTALMENT_DUE]) {
      expect(noticeMail({ kind, dueOn: null }, TODAY).subject).not.toContain('Something to know');
      expect(noticeGroup(kind)).toBe(kind === 'ownership_claimed' ? null : 'transfers');
    }
    const due = noticeMail({ kind: CLAIM_ANSWER_DUE, dueOn: LAST }, TODAY).text;
    expect(due).toContain('2026-08-09 (in 60 days)');
  });
});

describe('instalments of a price that property waits for', () => {
  const remind = (on: string) =>
    w.uow.writeAsServer(null, async (tx) =>
      decide(await new RemindInstalmentsHandler(notices).handle(tx, { day: on, after: null })),
    );
  const reminders = async (transferId: string) =>
    (
      await w.client.notice.findMany({
        where: { kind: INSTALMENT_DUE, body: { path: ['transferId'], equals: transferId } },
        orderBy: { id: 'asc' },
      })
    ).map(({ keeperId, body, dueOn }) => [keeperId, (body as { number: number }).number, dueOn?.getUTCMonth()]);

  it('are told of to the receiver a week before and on the day, once each, and not when they are covered', async () => {
    const animal = await w.animal(claimant);
    // Due on 1 July, 1 August and 1 September.
    const transferId = await t.handOver(animal, claimant, owner, onPayment(300, 100, 100, 100));
    await remind('2026-06-23');
    expect(await reminders(transferId)).toEqual([]);
    for (const on of ['2026-06-24', '2026-06-27', '2026-07-01', '2026-07-03']) await remind(on);
    const first = [owner.keeperId, 1, 6];
    expect(await reminders(transferId)).toEqual([first, first]);
    await t.pay(transferId, owner, 150);
    await remind('2026-07-30');
    expect(await reminders(transferId)).toEqual([first, first, [owner.keeperId, 2, 7]]); // half of it is declared
    await t.pay(transferId, owner, 50);
    await remind('2026-08-01');
    expect(await reminders(transferId)).toHaveLength(3);
  });

  it('are not told of where property does not wait, or the price is paid', async () => {
    const animal = await w.animal(claimant);
    const transferId = await t.handOver(animal, claimant, owner, onPayment(100, 100));
    const paymentId = await t.pay(transferId, owner, 100);
    await t.confirm.execute(claimant.viewer, { paymentId });
    await remind('2026-07-01');
    expect(await reminders(transferId)).toEqual([]);
  });
});

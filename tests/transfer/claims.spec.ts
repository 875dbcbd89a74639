import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { SplitLot } from '../../libs/custody/app/split-lot.js';
import { day, decide } from '../../libs/kernel/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { TellClaimHandler } from '../../libs/transfer/jobs/tell-claim.handler.js';
import { RECEIVED, titleWorld } from '../support/title-world.js';
import {
  arrived,
  gift,
  type Party,
  REGISTERED,
  TODAY,
  transferWorld,
  type TransferWorld,
} from '../support/transfer-world.js';

let w: TransferWorld;
let t: ReturnType<typeof titleWorld>;
let giver: Party;
let owner: Party;
let stranger: Party;
beforeAll(async () => {
  w = await transferWorld();
  t = titleWorld(w);
  [giver, owner, stranger] = [await w.party('Giver'), await w.party('Owner'), await w.party('Stranger')];
});
afterAll(() => w.close());

const HALF = { share: { parts: 1, of: 2 }, since: REGISTERED, statement: 'We bought it together.' };
const refused = (rule: string) => ({ rule });

/** An animal that went from the giver to the owner. */
async function handedOn(lotOf?: number): Promise<string> {
  const animal = await w.animal(giver, lotOf === undefined ? {} : { lotOf });
  await t.handOver(animal, giver, owner, {}, { count: lotOf ?? 1 });
  return animal;
}

/** The same, claimed by the giver. */
async function claimed(): Promise<{ animal: string; claimId: string }> {
  const animal = await handedOn();
  const { claimId } = await t.claim.execute(giver.viewer, { keeperId: giver.keeperId, animalId: animal, ...HALF });
  return { animal, claimId };
}

describe('who may claim', () => {
  it('a past holder and a party of an accepted transfer may; a stranger finds nothing, by id or by number', async () => {
    const { animal } = await claimed();
    const { registerNumber } = await w.client.animal.findUniqueOrThrow({ where: { id: animal } });
    const texts = [];
    for (const which of [{ animalId: animal }, { animalId: uuid() }, { registerNumber }]) {
      const attempt = t.claim.execute(stranger.viewer, { keeperId: stranger.keeperId, ...which, ...HALF });
      texts.push(await attempt.catch((error: Error & { code?: string }) => `${error.code} ${error.message}`));
    }
    expect(new Set(texts).size).toBe(1);
    expect(texts[0]).toContain('NOT_FOUND');
  });

  it('whoever was only offered it may not freeze it, also while the offer is open', async () => {
    const animal = await w.animal(giver);
    const { transferId } = await w.offer.execute(giver.viewer, gift(giver, stranger, animal));
    const claim = () => t.claim.execute(stranger.viewer, { keeperId: stranger.keeperId, animalId: animal, ...HALF });
    await expect(claim()).rejects.toMatchObject({ code: 'FORBIDDEN' });
    await w.decline.execute(stranger.viewer, { transferId });
    await expect(claim()).rejects.toMatchObject({ code: 'NOT_FOUND' });
    expect(await t.ownership(animal)).toHaveLength(1);
  });

  it('a helper claims nothing', async () => {
    const animal = await handedOn();
    const helper = { ...giver.viewer, keepers: [{ keeperId: giver.keeperId, role: 'helper' as const }] };
    await expect(
      t.claim.execute(helper, { keeperId: giver.keeperId, animalId: animal, ...HALF }),
    ).rejects.toMatchObject({ code: 'FORBIDDEN' });
  });

  it('what is on its way is claimed once it has arrived', async () => {
    const animal = await handedOn();
    const { transferId } = await w.offer.execute(owner.viewer, gift(owner, stranger, animal));
    await t.underWay(transferId, owner, stranger, RECEIVED);
    const claim = ({ viewer, keeperId }: Party) => t.claim.execute(viewer, { keeperId, animalId: animal, ...HALF });
    await expect(claim(stranger)).rejects.toMatchObject(refused('CLAIM_ON_THE_WAY'));
    await expect(claim(giver)).rejects.toMatchObject(refused('CLAIM_NOT_NOW'));
  });

  it('a past holder does not learn what is under way: a claim of others, a sale, an owner without an account', async () => {
    const third = await w.party('Third');
    const back = { sent: day('2026-06-05'), received: day('2026-06-06') };
    const claim = ({ viewer, keeperId }: Party, animalId: string) =>
      t.claim.execute(viewer, { keeperId, animalId, ...HALF });
    const told = (animalId: string) =>
      claim(giver, animalId).catch((error: Error & { rule?: string }) => `${error.rule} ${error.message}`);
    const disputed = await handedOn();
    await t.handOver(disputed, owner, third, {}, back);
    await claim(owner, disputed);
    const onTheWay = await handedOn();
    const { transferId } = await w.offer.execute(owner.viewer, gift(owner, third, onTheWay));
    await t.underWay(transferId, owner, third, RECEIVED);
    const { animal: over, claimId } = await claimed();
    await t.withdrawClaim.execute(giver.viewer, { claimId });
    const texts = await Promise.all([disputed, onTheWay, over].map(told));
    expect(new Set(texts).size).toBe(1);
    expect(texts[0]).toMatch(/^CLAIM_NOT_NOW /);
    // Those whom it concerns read why.
    await expect(claim(third, disputed)).rejects.toMatchObject(refused('CLAIM_OPEN'));
    await expect(claim(owner, disputed)).rejects.toMatchObject(refused('CLAIM_OPEN'));
  });
});

describe('while a claim is open', () => {
  it('property is frozen with the shares of the record: no offer, no sending, no dividing', async () => {
    const animal = await handedOn();
    const { transferId } = await w.offer.execute(owner.viewer, gift(owner, stranger, animal));
    await w.accept.execute(stranger.viewer, { transferId });
    await t.claim.execute(giver.viewer, { keeperId: giver.keeperId, animalId: animal, ...HALF });
    expect((await t.ownership(animal)).slice(1)).toEqual([
      { from: RECEIVED, to: TODAY, state: 'agreed', shares: [[owner.keeperId, 1]] },
      { from: TODAY, to: null, state: 'disputed', shares: [[owner.keeperId, 1]] },
    ]);
    await expect(w.send.execute(owner.viewer, { transferId, sentOn: TODAY })).rejects.toMatchObject(
      refused('TRANSFER_CHECK_BLOCKS'),
    );
    const checks = await w.store.checkSending(owner.viewer, transferId, TODAY);
    expect(checks.map(({ check }) => check)).toContain('title');
    await w.cancel.execute(owner.viewer, { transferId, reason: 'It is claimed.' });
    await expect(w.offer.execute(owner.viewer, gift(owner, stranger, animal))).rejects.toMatchObject(
      refused('TRANSFER_OWNER_DISPUTED'),
    );
    const lot = await handedOn(6);
    await t.claim.execute(giver.viewer, { keeperId: giver.keeperId, animalId: lot, ...HALF });
    const split = new SplitLot(w.uow).execute(owner.viewer, { lotId: lot, count: 2, on: TODAY });
    await expect(split).rejects.toMatchObject(refused('OWNERSHIP_DISPUTED'));
  });

  it('both read both statements, and nobody else reads any; no keeper is named', async () => {
    const { claimId } = await claimed();
    const own = { claimId, statement: 'It was a gift.' };
    await expect(t.reply.execute(giver.viewer, own)).rejects.toMatchObject({ code: 'FORBIDDEN' });
    await t.reply.execute(owner.viewer, own);
    await expect(t.reply.execute(owner.viewer, own)).rejects.toMatchObject(refused('CLAIM_REPLIED'));
    for (const { viewer } of [giver, owner])
      expect(await t.claims.find(viewer, claimId)).toMatchObject({
        statement: HALF.statement,
        parties: [{ reply: null }, { reply: own.statement }],
      });
    expect(await t.claims.find(stranger.viewer, claimId)).toBeNull();
    expect(await t.claims.page(stranger.viewer, 10, null)).toEqual([]);
    const helper = { ...owner.viewer, keepers: [{ keeperId: owner.keeperId, role: 'helper' as const }] };
    expect(await t.claims.find(helper, claimId)).toBeNull();
    for (const step of [
      () => t.reply.execute(stranger.viewer, own),
      () => t.withdrawClaim.execute(stranger.viewer, { claimId }),
      () => t.agree.execute(stranger.viewer, { claimId, proposal: 1 }),
    ])
      await expect(step()).rejects.toMatchObject({ code: 'NOT_FOUND' });
  });

  it('the other side is told once, without a name or a word of what was said', async () => {
    const { claimId } = await claimed();
    const handler = new TellClaimHandler(new NoticeStore({ client: w.client } as Database));
    const told = { claimId, what: 'made' as const, by: [1], round: 0 };
    for (let i = 0; i < 2; i++) await w.uow.writeAsServer(null, async (tx) => decide(await handler.handle(tx, told)));
    const notices = await w.client.notice.findMany({ where: { dedupeKey: { contains: claimId } } });
    expect(notices.map(({ keeperId, kind }) => [keeperId, kind])).toEqual([[owner.keeperId, 'ownership_claimed']]);
    expect(JSON.stringify(notices[0]?.body)).not.toContain(HALF.statement);
    expect(JSON.stringify(notices[0]?.body)).not.toContain('Giver');
  });
});

describe('how a claim ends', () => {
  it('withdrawn: the owners by the record have it without a question, and the same claim is not made again', async () => {
    const { animal, claimId } = await claimed();
    await expect(t.withdrawClaim.execute(owner.viewer, { claimId })).rejects.toMatchObject({ code: 'FORBIDDEN' });
    await t.withdrawClaim.execute(giver.viewer, { claimId });
    expect((await t.ownership(animal)).slice(2)).toEqual(
      expect.arrayContaining([{ from: TODAY, to: null, state: 'agreed', shares: [[owner.keeperId, 1]] }]),
    );
    await expect(
      t.claim.execute(giver.viewer, { keeperId: giver.keeperId, animalId: animal, ...HALF }),
    ).rejects.toMatchObject(refused('CLAIM_NOT_NOW'));
    await w.offer.execute(owner.viewer, gift(owner, stranger, animal));
  });

  it('settled after a party without an account turned out to be the claimant: one share a keeper, the parts of both', async () => {
    const animal = await w.animal(giver);
    const half = { items: [{ animalId: animal, share: { parts: 1, of: 2 } }] };
    await t.handOver(animal, giver, owner, half);
    const { transferId, claimCode } = await w.offer.execute(owner.viewer, {
      fromKeeperId: owner.keeperId,
      kind: 'gift',
      toOutsideParty: { name: 'A buyer' },
      items: [{ animalId: animal, share: { parts: 1, of: 4 } }],
    });
    await w.accept.execute(owner.viewer, { transferId });
    await w.send.execute(owner.viewer, { transferId, sentOn: RECEIVED });
    const items = [arrived(animal, { well: 1 })];
    await w.receive.execute(owner.viewer, { transferId, receivedOn: RECEIVED, items });
    const whole = { ...HALF, share: { parts: 1, of: 1 } };
    const { claimId } = await t.claim.execute(giver.viewer, { keeperId: giver.keeperId, animalId: animal, ...whole });
    await w.takeUp.execute(giver.viewer, { claimCode: claimCode ?? '', keeperId: giver.keeperId });
    const shares = [1, 2, 3].map((party) => ({ party, parts: party }));
    await t.propose.execute(giver.viewer, { claimId, shares });
    await t.agree.execute(owner.viewer, { claimId, proposal: 1 });
    const seen = await t.claims.find(giver.viewer, claimId);
    const partsOf = (keeperId: string) =>
      (seen?.parties ?? [])
        .filter(({ owner: party }) => party.kind === 'keeper' && party.keeperId === keeperId)
        .reduce((sum, { proposedParts }) => sum + (proposedParts ?? 0), 0);
    const [ofGiver, ofOwner] = [partsOf(giver.keeperId), partsOf(owner.keeperId)];
    expect(ofGiver + ofOwner).toBe(6);
    expect((await t.ownership(animal)).at(-1)).toEqual({
      from: TODAY,
      to: null,
      state: 'agreed',
      shares: [
        [giver.keeperId, ofGiver],
        [owner.keeperId, ofOwner],
      ],
    });
    const last = (await w.ledger(animal)).at(-1);
    expect(last).toMatchObject({ action: 'transfer.claim-shares-agreed', body: { settled: true } });
  });

  it('settled: what both agree on is who owns it from that day, and both read the record', async () => {
    const { animal, claimId } = await claimed();
    const shares = [
      { party: 1, parts: 1 },
      { party: 2, parts: 2 },
    ];
    await t.propose.execute(giver.viewer, { claimId, shares });
    await expect(t.agree.execute(owner.viewer, { claimId, proposal: 2 })).rejects.toMatchObject(
      refused('CLAIM_PROPOSAL_CHANGED'),
    );
    // The proposer cannot settle it alone.
    await t.agree.execute(giver.viewer, { claimId, proposal: 1 });
    expect(await w.owners(animal)).toEqual([[owner.keeperId, 1]]);
    await t.agree.execute(owner.viewer, { claimId, proposal: 1 });
    expect((await t.ownership(animal)).at(-1)).toEqual({
      from: TODAY,
      to: null,
      state: 'agreed',
      shares: [
        [giver.keeperId, 1],
        [owner.keeperId, 2],
      ],
    });
    const access = await w.client.animalAccess.findMany({
      where: { animalId: animal, relation: 'owner', validTo: null },
    });
    expect(access.map(({ keeperId }) => keeperId).sort()).toEqual([giver.keeperId, owner.keeperId].sort());
    expect(await t.claims.find(giver.viewer, claimId)).toMatchObject({ outcome: 'settled', ended: true });
    await expect(t.withdrawClaim.execute(giver.viewer, { claimId })).rejects.toMatchObject(refused('CLAIM_ENDED'));
  });

  it('a payment that would move disputed property is not confirmed before the claim is over', async () => {
    const animal = await w.animal(giver);
    const terms = { kind: 'sale', title: 'when_paid', price: { minor: 100, currency: 'EUR' } };
    const transferId = await t.handOver(animal, giver, owner, terms);
    const paymentId = await t.pay(transferId, owner, 100);
    const claim = { keeperId: owner.keeperId, animalId: animal, ...HALF, since: day('2026-06-02') };
    const { claimId } = await t.claim.execute(owner.viewer, claim);
    await expect(t.confirm.execute(giver.viewer, { paymentId })).rejects.toMatchObject(
      refused('TRANSFER_OWNER_DISPUTED'),
    );
    await t.withdrawClaim.execute(owner.viewer, { claimId });
    await t.confirm.execute(giver.viewer, { paymentId });
    expect(await w.owners(animal)).toEqual([[owner.keeperId, 1]]);
  });
});

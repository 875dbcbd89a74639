import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { findAccess } from '../../libs/access/index.js';
import { findArrivalQuarantine } from '../../libs/health/index.js';
import { day } from '../../libs/kernel/index.js';
import { parseSpokenCode } from '../../libs/transfer/hand-over/spoken-code.core.js';
import { arrived, type Party, REGISTERED, transferWorld, type TransferWorld } from '../support/transfer-world.js';

const SHOW = day('2026-06-03');

let w: TransferWorld;
let giver: Party;
beforeAll(async () => {
  w = await transferWorld();
  giver = await w.party('Haus Lindenau');
});
afterAll(() => w.close());

function toBuyer(animalId: string) {
  return {
    fromKeeperId: giver.keeperId,
    kind: 'sale' as const,
    toOutsideParty: { name: 'Irina Veles', contact: '+420 000 000 000' },
    items: [{ animalId }],
    price: { minor: 9_000, currency: 'EUR' },
  };
}

/** Hands an animal over the table to a buyer without an account: the giver records every step. */
async function handedOver(animalId: string): Promise<{ transferId: string; claimCode: string }> {
  const { transferId, claimCode } = await w.offer.execute(giver.viewer, toBuyer(animalId));
  await w.accept.execute(giver.viewer, { transferId });
  await w.send.execute(giver.viewer, { transferId, sentOn: SHOW });
  await w.receive.execute(giver.viewer, { transferId, receivedOn: SHOW, items: [arrived(animalId, { well: 1 })] });
  return { transferId, claimCode: claimCode ?? '' };
}

const level = async (party: Party, animalId: string) =>
  (await findAccess(w.client, party.viewer, [animalId])).get(animalId)?.level ?? 'none';

describe('a buyer without an account', () => {
  it('gets the animal from the giver, who attests each step of the buyer in the ledger', async () => {
    const animal = await w.animal(giver);
    const { transferId } = await handedOver(animal);
    const attested = (await w.ledger(transferId)).map(({ action, body }) => [action, body['attestedByGiver']]);
    expect(attested).toEqual([
      ['transfer.offered', undefined],
      ['transfer.accepted', true],
      ['transfer.sent', undefined],
      ['transfer.received', true],
    ]);
    expect((await w.custody(animal)).map(({ from, to, leftBy }) => [from, to, leftBy])).toEqual([
      [REGISTERED, SHOW, 'given'],
      [SHOW, null, null],
    ]);
    expect(await level(giver, animal)).toBe('past');
    const entries = JSON.stringify(await w.ledger(transferId));
    expect(entries).not.toMatch(/Irina|\+420|9000 EUR/);
  });

  it('takes the record up later: the arrival is in the own book on the day of the hand-over, and all of it is readable', async () => {
    const animal = await w.animal(giver);
    const { transferId, claimCode } = await handedOver(animal);
    const buyer = await w.party('Irina Veles');
    expect(await level(buyer, animal)).toBe('none');
    await w.takeUp.execute(buyer.viewer, {
      claimCode: claimCode.toLowerCase().replaceAll('-', ' '),
      keeperId: buyer.keeperId,
    });
    expect((await w.custody(animal)).at(-1)).toEqual({
      holder: buyer.keeperId,
      from: SHOW,
      to: null,
      arrivedBy: 'taken_up',
      leftBy: null,
    });
    expect(await w.owners(animal)).toEqual([[buyer.keeperId, 1]]);
    expect(await level(buyer, animal)).toBe('full');
    const seen = await w.store.getVisible(buyer.viewer, transferId);
    expect(seen).toMatchObject({ fromLabel: 'Haus Lindenau', toLabel: 'Irina Veles', transfer: { state: 'received' } });
    const group = await findArrivalQuarantine(w.client, transferId);
    expect(group).toMatchObject({ keeperId: buyer.keeperId, entries: [{ animalId: animal, enteredOn: SHOW }] });
    expect((await w.ledger(transferId)).at(-1)).toMatchObject({
      action: 'transfer.taken-up',
      body: { quarantineGroupId: group?.id },
    });
    expect(
      await w.client.outboxMessage.count({ where: { payload: { equals: { transferId, keeperId: buyer.keeperId } } } }),
    ).toBe(1);
  });

  it('who takes an open offer up goes on as an ordinary receiver; the giver no longer speaks for them', async () => {
    const animal = await w.animal(giver);
    const { transferId, claimCode } = await w.offer.execute(giver.viewer, toBuyer(animal));
    const buyer = await w.party('Buyer');
    await w.takeUp.execute(buyer.viewer, { claimCode: claimCode ?? '', keeperId: buyer.keeperId });
    expect(await level(buyer, animal)).toBe('offered');
    await expect(w.accept.execute(giver.viewer, { transferId })).rejects.toMatchObject({ code: 'FORBIDDEN' });
    await w.accept.execute(buyer.viewer, { transferId });
  });
});

describe('claim codes', () => {
  it('a mistyped one is told apart before any look-up; a wrong, a used and a withdrawn one are not told apart', async () => {
    const buyer = await w.party('Buyer');
    const take = (claimCode: string, party = buyer) =>
      w.takeUp.execute(party.viewer, { claimCode, keeperId: party.keeperId }).then(
        () => 'taken up',
        (error: { code: string; message: string }) => [error.code, error.message],
      );
    const { claimCode } = await handedOver(await w.animal(giver));
    const swapped = (claimCode.startsWith('3') ? '4' : '3') + claimCode.slice(1);
    expect((await take(swapped))[0]).toBe('INVALID_INPUT');

    const nothing = ['NOT_FOUND', 'No record waits to be taken up under this code.'];
    const withdrawn = await w.offer.execute(giver.viewer, toBuyer(await w.animal(giver)));
    await w.withdraw.execute(giver.viewer, { transferId: withdrawn.transferId });
    expect(await take(w.codes.checkCode())).toEqual(nothing);
    expect(await take(withdrawn.claimCode ?? '')).toEqual(nothing);
    expect(await take(claimCode)).toBe('taken up');
    expect(await take(claimCode)).toEqual(nothing);
    expect(await take(claimCode, await w.party('Another'))).toEqual(nothing);
  });

  it('the giver cannot take up what it gave, nor anybody for a keeper they do not act for', async () => {
    const { claimCode } = await handedOver(await w.animal(giver));
    await expect(w.takeUp.execute(giver.viewer, { claimCode, keeperId: giver.keeperId })).rejects.toMatchObject({
      rule: 'TRANSFER_TO_SELF',
    });
    const [thief, buyer] = [await w.party('Thief'), await w.party('Buyer')];
    await expect(w.takeUp.execute(thief.viewer, { claimCode, keeperId: buyer.keeperId })).rejects.toMatchObject({
      code: 'NOT_FOUND',
    });
  });

  it('are nowhere in the database, only their hash', async () => {
    const { transferId, claimCode } = await handedOver(await w.animal(giver));
    const code = parseSpokenCode(claimCode) ?? '';
    expect(code).toHaveLength(20);
    const tables = await w.client.$queryRaw<{ name: string }[]>`
      SELECT table_name AS name FROM information_schema.tables WHERE table_schema = 'public' AND table_type = 'BASE TABLE'`;
    expect(tables.length).toBeGreaterThan(20);
    for (const { name } of tables) {
      const [found] = await w.client.$queryRawUnsafe<{ n: number }[]>(
        `SELECT count(*)::int AS n FROM "${name}" t WHERE t::text LIKE $1 OR t::text LIKE $2`,
        `%${code}%`,
        `%${claimCode}%`,
      );
      expect({ name, found: found?.n }).toEqual({ name, found: 0 });
    }
    const row = await w.client.transfer.findUnique({ where: { id: transferId } });
    expect(row?.claimCodeHash).toBe(w.codes.hash(parseSpokenCode(claimCode) ?? w.codes.checkCode()));
  });

  it('a repeated request with the same Idempotency-Key gives the same code and one transfer', async () => {
    const animal = await w.animal(giver);
    const viewer = { ...giver.viewer, idempotencyKey: uuid() };
    const first = await w.offer.execute(viewer, toBuyer(animal));
    expect(await w.offer.execute(viewer, toBuyer(animal))).toEqual(first);
    expect(await w.client.transferItem.count({ where: { animalId: animal } })).toBe(1);
  });
});

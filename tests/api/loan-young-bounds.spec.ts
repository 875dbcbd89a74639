import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { transferStep } from '../support/hand-over.js';
import { type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';
import { ruleOf, TURNS, youngCast, type YoungWorld } from '../support/young-world.js';

let server: TestApp;
let world: YoungWorld;
let lender: TestKeeper;
let borrower: TestKeeper;
let buyer: TestKeeper;
let taxonId: string;

beforeAll(async () => {
  server = await startTestApp();
  ({ world, lender, borrower, buyer, taxonId } = await youngCast(server));
});
afterAll(async () => {
  await world.close();
  await server.close();
});
beforeEach(() => server.setDay('2026-06-10'));

/** A dam that goes on loan, and the borrower's male. */
const lent = (youngSplit: object | null = TURNS) =>
  world.lent(lender, borrower, taxonId, youngSplit === null ? null : { youngSplit });

/** Parts of the owners of a record, by who they are. */
async function owners(animalId: string): Promise<Record<string, number>> {
  const names = new Map([
    [lender.keeperId, 'lender'],
    [borrower.keeperId, 'borrower'],
  ]);
  const parts = Object.entries(await world.owners(animalId));
  return Object.fromEntries(parts.map(([id, part]) => [names.get(id) ?? 'other', part]));
}

const BOTH = { lender: 1, borrower: 1 };

const offerEggs = (clutchId: string, who: TestKeeper, more: object) => {
  const offer = { fromKeeperId: who.keeperId, kind: 'gift', items: [], eggs: [{ clutchId }], ...more };
  return world.send('offerTransfer', offer, who, 'transfer { id }');
};

/** The transfer of an offer that was not refused. */
function offered({ data, errors }: Answer<unknown>): string {
  if (errors !== undefined) throw new Error(JSON.stringify(errors));
  return (data as { offerTransfer: { transfer: { id: string } } }).offerTransfer.transfer.id;
}

/** Another keeper of the same account. */
async function secondKeeper(of: TestKeeper): Promise<TestKeeper> {
  const answer = await world.send('openKeeper', { name: 'Haus Second' }, of, 'keeper { id }');
  if (answer.errors !== undefined) throw new Error(JSON.stringify(answer.errors));
  const { id } = (answer.data as unknown as { openKeeper: { keeper: { id: string } } }).openKeeper.keeper;
  return { ...of, keeperId: id };
}

describe('what is not divided yet', () => {
  it('what is not divided is given to nobody else, and comes home all the same', async () => {
    const { dam } = await lent();
    const [young = ''] = await world.hatch(await world.clutchOf(dam, borrower, '2026-04-01'), borrower, 1);
    const gift = {
      fromKeeperId: borrower.keeperId,
      toKeeperId: buyer.keeperId,
      kind: 'gift',
      items: [{ animalId: young }],
    };
    expect(ruleOf(await world.send('offerTransfer', gift, borrower, 'transfer { id }'))).toBe(
      'TRANSFER_YOUNG_UNDIVIDED',
    );
    await world.handOver(young, borrower, lender, '2026-06-10', { kind: 'loan_return' });
    expect(await owners(young)).toEqual(BOTH);
  });

  it('a lot of young that are picked in turns is given to nobody else either, whole or in part', async () => {
    const { dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    const [lot = ''] = await world.hatch(clutchId, borrower, 1, { young: [{ count: 4 }] });
    for (const item of [{ animalId: lot }, { animalId: lot, count: 1 }]) {
      const gift = { fromKeeperId: borrower.keeperId, toKeeperId: buyer.keeperId, kind: 'gift', items: [item] };
      expect(ruleOf(await world.send('offerTransfer', gift, borrower, 'transfer { id }'))).toBe(
        'TRANSFER_YOUNG_UNDIVIDED',
      );
    }
    const shared = await lent({ method: 'shared', lenderParts: 1, ofParts: 2 });
    const [free = ''] = await world.hatch(await world.clutchOf(shared.dam, borrower, '2026-04-01'), borrower, 1, {
      young: [{ count: 4 }],
    });
    const gift = {
      fromKeeperId: borrower.keeperId,
      toKeeperId: buyer.keeperId,
      kind: 'gift',
      items: [{ animalId: free }],
    };
    expect(ruleOf(await world.send('offerTransfer', gift, borrower, 'transfer { id }'))).toBeUndefined();
  });

  it('eggs of the loan go to the other side and to nobody else, whoever of the two has them', async () => {
    const { dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01', { eggCount: 2 });
    const blocked = { kind: 'clutch', id: clutchId, remedy: expect.stringContaining('other side of the loan') };
    for (const more of [{ toKeeperId: buyer.keeperId }, { toOutsideParty: { name: 'Somebody' } }]) {
      const { errors } = await offerEggs(clutchId, borrower, more);
      expect(errors?.[0]?.extensions).toMatchObject({ rule: 'TRANSFER_YOUNG_UNDIVIDED', blockers: [blocked] });
    }
    const transferId = offered(await offerEggs(clutchId, borrower, { toKeeperId: lender.keeperId }));
    await transferStep(server, 'acceptTransfer', { transferId }, lender);
    await transferStep(server, 'sendTransfer', { transferId, sentOn: '2026-06-10' }, borrower);
    const eggs = [{ clutchId, numbers: [1, 2], state: 'well' }];
    await transferStep(server, 'receiveTransfer', { transferId, receivedOn: '2026-06-10', items: [], eggs }, lender);
    expect(ruleOf(await offerEggs(clutchId, lender, { toKeeperId: buyer.keeperId }))).toBe('TRANSFER_YOUNG_UNDIVIDED');
    const [young = ''] = await world.hatch(clutchId, lender, 1, { when: '2026-06-10', young: [{ eggNumber: 1 }] });
    expect(await owners(young)).toEqual(BOTH);
  });

  it('so do eggs of shared young, and of a lent male who is the likely sire; other eggs go where they are offered', async () => {
    const shared = await lent({ method: 'shared', lenderParts: 1, ofParts: 2 });
    const kept = await world.clutchOf(shared.dam, borrower, '2026-04-01', { eggCount: 2 });
    expect(ruleOf(await offerEggs(kept, borrower, { toKeeperId: buyer.keeperId }))).toBe('TRANSFER_YOUNG_UNDIVIDED');
    const silent = await lent(null);
    offered(
      await offerEggs(await world.clutchOf(silent.dam, borrower, '2026-04-01', { eggCount: 2 }), borrower, {
        toKeeperId: buyer.keeperId,
      }),
    );

    const birth = { edtf: '2020', manner: 'hatched' };
    server.setDay('2026-01-01');
    const sire = await world.animal(lender, taxonId, { sex: 'male', birth });
    const [dam, other] = [
      await world.animal(borrower, taxonId, { sex: 'female', birth }),
      await world.animal(borrower, taxonId, { sex: 'female', birth }),
    ];
    const terms = { kind: 'breeding_loan', dueBack: '2026-12-31', loanTerms: { youngSplit: TURNS } };
    await world.handOver(sire, lender, borrower, '2026-02-01', terms);
    server.setDay('2026-06-10');
    await world.breeding.do(borrower, 'recordMating', { damId: dam, sireId: sire, when: '2026-03-01' });
    const his = await world.clutchOf(dam, borrower, '2026-04-01', { eggCount: 2 });
    expect(ruleOf(await offerEggs(his, borrower, { toKeeperId: buyer.keeperId }))).toBe('TRANSFER_YOUNG_UNDIVIDED');
    const nobodys = await world.clutchOf(other, borrower, '2026-04-01', { eggCount: 2 });
    offered(await offerEggs(nobodys, borrower, { toKeeperId: buyer.keeperId }));
  });

  it('young are divided also when they are put with another of the recorder’s keepers', async () => {
    const { loan, dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    const { keeperId } = await secondKeeper(borrower);
    const [young = ''] = await world.hatch(clutchId, borrower, 1, { keeperId });
    expect(await world.holderOf(young)).toBe(keeperId);
    expect(await owners(young)).toEqual(BOTH);
    const since = { birth: { edtf: '2026-06-05', manner: 'hatched' }, since: '2026-06-05' };
    const animalId = await world.animal({ ...borrower, keeperId }, taxonId, since);
    await world.breeding.do(borrower, 'recordHatching', { clutchId, animalId, when: '2026-06-05' });
    expect(await owners(animalId)).toEqual(BOTH);
    expect(await world.clutches(loan, lender)).toMatchObject([{ undivided: 2, turn: 'lender' }]);
  });

  it('the hatching of what is offered is recorded once the offer is withdrawn, and divides it then', async () => {
    const { dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    const since = { birth: { edtf: '2026-06-05', manner: 'hatched' }, since: '2026-06-05' };
    const animalId = await world.animal(borrower, taxonId, since);
    const gift = { fromKeeperId: borrower.keeperId, toKeeperId: buyer.keeperId, kind: 'gift', items: [{ animalId }] };
    const transferId = await transferStep(server, 'offerTransfer', gift, borrower);
    const hatched = { clutchId, animalId, when: '2026-06-05' };
    expect(await world.breeding.refused(borrower, 'recordHatching', hatched)).toMatchObject({
      rule: 'HATCHING_LOAN_OFFERED',
      blockers: [{ kind: 'animal', id: animalId, remedy: expect.stringContaining('Withdraw the offer') }],
    });
    expect(await owners(animalId)).toEqual({ borrower: 1 });
    await transferStep(server, 'withdrawTransfer', { transferId }, borrower);
    await world.breeding.do(borrower, 'recordHatching', hatched);
    expect(await owners(animalId)).toEqual(BOTH);
  });

  it('a hatching recorded later brings an animal under the terms; one taken back takes it out', async () => {
    const { loan, dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    const animalId = await world.animal(borrower, taxonId, {
      birth: { edtf: '2026-06-05', manner: 'hatched' },
      since: '2026-06-05',
    });
    const { hatching } = await world.breeding.do(borrower, 'recordHatching', {
      clutchId,
      animalId,
      when: '2026-06-05',
    });
    expect(await owners(animalId)).toEqual(BOTH);
    expect(await world.clutches(loan, lender)).toMatchObject([{ undivided: 1 }]);
    const taken = { kind: 'hatching', factId: hatching.id, takeBack: true, reason: 'Of another dam.' };
    await world.breeding.do(borrower, 'correctBreedingFact', taken);
    expect(await world.clutches(loan, lender)).toMatchObject([{ undivided: 0 }]);
  });
});

describe('what is no young of the loan', () => {
  it('an animal of the other side that is only kept here stays its own, whatever clutch it is said to have hatched in', async () => {
    const { loan, dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    server.setDay('2026-01-01');
    const animalId = await world.animal(lender, taxonId);
    await world.handOver(animalId, lender, borrower, '2026-02-01', { kind: 'breeding_loan', dueBack: '2026-12-31' });
    server.setDay('2026-06-10');
    await world.breeding.do(borrower, 'recordHatching', { clutchId, animalId, when: '2026-06-05' });
    expect(await owners(animalId)).toEqual({ lender: 1 });
    expect(await world.clutches(loan, lender)).toEqual([]);
    // Its owner may say so.
    const { hatching } = await world.breeding.do(borrower, 'recordHatching', {
      clutchId,
      animalId: await world.animal(borrower, taxonId, { since: '2026-06-05' }),
      when: '2026-06-05',
    });
    expect(hatching.id).toBeDefined();
    expect(await world.clutches(loan, lender)).toMatchObject([{ undivided: 1 }]);
  });

  it('one recorded under the wrong clutch and then under the right one is divided with the right one', async () => {
    const { loan, dam } = await lent();
    const wrong = await world.clutchOf(dam, borrower, '2026-03-20');
    const right = await world.clutchOf(dam, borrower, '2026-04-10');
    const [animalId = ''] = await world.hatch(wrong, borrower, 1);
    const { id } = await world.db.hatching.findFirstOrThrow({ where: { animalId } });
    const taken = { kind: 'hatching', factId: id, takeBack: true, reason: 'Of the later clutch.' };
    await world.breeding.do(borrower, 'correctBreedingFact', taken);
    await world.breeding.do(borrower, 'recordHatching', { clutchId: right, animalId, when: '2026-06-05' });
    const undivided = (await world.clutches(loan, lender)).map((clutch) => [clutch.clutchId, clutch.undivided]);
    expect(undivided).toEqual([
      [wrong, 0],
      [right, 1],
    ]);
    expect(await owners(animalId)).toEqual(BOTH);
    expect(ruleOf(await world.pick(loan, wrong, lender, animalId))).toBe('NOT_FOUND');
    await world.picked(loan, right, lender, animalId);
    expect(await owners(animalId)).toEqual({ lender: 1 });
  });

  it('one that hatched in a clutch of no loan after all is no longer divided', async () => {
    const { loan, dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    const [animalId = '', other = ''] = await world.hatch(clutchId, borrower, 2);
    const { id } = await world.db.hatching.findFirstOrThrow({ where: { animalId } });
    const taken = { kind: 'hatching', factId: id, takeBack: true, reason: 'Of another dam.' };
    await world.breeding.do(borrower, 'correctBreedingFact', taken);
    const own = await world.animal(borrower, taxonId, { sex: 'female', birth: { edtf: '2020', manner: 'hatched' } });
    const elsewhere = await world.clutchOf(own, borrower, '2026-04-01');
    await world.breeding.do(borrower, 'recordHatching', { clutchId: elsewhere, animalId, when: '2026-06-05' });
    expect(await world.clutches(loan, lender)).toMatchObject([{ clutchId, undivided: 1 }]);
    expect(ruleOf(await world.pick(loan, clutchId, lender, animalId))).toBe('LOAN_YOUNG_NOT_OF_BOTH');
    await world.picked(loan, clutchId, lender, other);
  });
});

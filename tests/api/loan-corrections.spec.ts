import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { MinorWorld } from '../support/minor-world.js';
import { type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';
import { BIRTH, ruleOf, TURNS, YoungWorld } from '../support/young-world.js';

let server: TestApp;
let world: YoungWorld;
let lender: TestKeeper;
let borrower: TestKeeper;
let taxonId: string;

beforeAll(async () => {
  server = await startTestApp();
  world = new YoungWorld(server);
  server.setDay('2026-01-01');
  [lender, borrower] = [await world.keeper('Haus Lender'), await world.keeper('Haus Borrower')];
  taxonId = await world.breeding.taxon();
});
afterAll(async () => {
  await world.close();
  await server.close();
});
beforeEach(() => server.setDay('2026-06-10'));

/** A loan with one clutch of as many young. */
async function bred(count: number) {
  const made = await world.lent(lender, borrower, taxonId);
  const clutchId = await world.clutchOf(made.dam, borrower);
  return { ...made, clutchId, young: await world.hatch(clutchId, borrower, count) };
}

const correct = (factId: string, changes: object, who = borrower) =>
  world.send('correctBreedingFact', { kind: 'clutch', factId, reason: 'A slip.', ...changes }, who, 'factId');

const ownFemale = () => world.animal(borrower, taxonId, { sex: 'female', birth: BIRTH });

describe('a clutch of a loan, corrected', () => {
  it.each<[string, () => Promise<object>]>([
    ['another dam', async () => ({ damId: await ownFemale() })],
    ['laid before she came', async () => ({ when: '2026-01-15' })],
    ['never laid', async () => ({ takeBack: true })],
  ])('%s: not while young wait to be picked; once they are, it moves no property', async (_, changes) => {
    const { loan, clutchId, young } = await bred(2);
    const [a = '', b = ''] = young;
    const change = await changes();
    const refused = await correct(clutchId, change);
    expect(ruleOf(refused)).toBe('CLUTCH_LOAN_YOUNG');
    expect(refused.errors?.[0]?.extensions.blockers?.map(({ id }) => id)).toEqual([a, b].sort());
    expect(await world.clutches(loan, lender)).toMatchObject([{ clutchId, undivided: 2, turn: 'lender' }]);
    expect(ruleOf(await world.pick(loan, clutchId, lender, b))).toBeUndefined();
    expect(ruleOf(await world.pick(loan, clutchId, borrower, a))).toBeUndefined();
    expect(ruleOf(await correct(clutchId, change))).not.toBe('CLUTCH_LOAN_YOUNG');
    expect(await world.owners(b)).toEqual({ [lender.keeperId]: 1 });
    expect(await world.owners(a)).toEqual({ [borrower.keeperId]: 1 });
  });

  it('in anything that leaves it of the loan is corrected at any time', async () => {
    const { loan, clutchId } = await bred(2);
    expect(ruleOf(await correct(clutchId, { when: '2026-03-20', eggCount: 5 }))).toBeUndefined();
    expect(await world.clutches(loan, lender)).toMatchObject([{ clutchId, undivided: 2, turn: 'lender' }]);
  });

  it('whose day of laying is not known stays of the loan when something else is put right after she went home', async () => {
    const { dam } = await world.lent(lender, borrower, taxonId);
    server.setDay('2026-02-20');
    const clutchId = await world.clutchOf(dam, borrower, null);
    await world.handOver(dam, borrower, lender, '2026-03-01', { kind: 'loan_return' }, { gravid: true });
    server.setDay('2026-06-10');
    const [young = ''] = await world.hatch(clutchId, borrower, 1);
    expect(Object.keys(await world.owners(young))).toHaveLength(2);
    expect(ruleOf(await correct(clutchId, { eggCount: 3 }))).toBeUndefined();
  });
});

describe('who bred a clutch of an unknown day', () => {
  it('stays who it was when its number of eggs is put right after the dam was sold', async () => {
    server.setDay('2026-01-01');
    const dam = await ownFemale();
    server.setDay('2026-02-20');
    const clutchId = await world.clutchOf(dam, borrower, null);
    await world.handOver(dam, borrower, lender, '2026-03-01', { kind: 'gift' }, { gravid: true });
    server.setDay('2026-06-10');
    const breeders = async () => {
      const text = 'query ($id: ID!) { clutch(id: $id) { breeders { keeperId sure why } } }';
      return (await server.get<{ clutch: { breeders: object[] } }>(text, { id: clutchId }, borrower.token)).clutch
        .breeders;
    };
    const before = await breeders();
    expect(before).toMatchObject([{ keeperId: borrower.keeperId }, { keeperId: null }]);
    expect(ruleOf(await correct(clutchId, { eggCount: 3 }))).toBeUndefined();
    expect(await breeders()).toEqual(before);
  });
});

describe('one of the young whose ownership is disputed', () => {
  it('is not picked meanwhile, and is again once the claim is withdrawn; a stranger claims nothing of it', async () => {
    const { loan, clutchId, young } = await bred(2);
    const [a = '', b = ''] = young;
    const claim = (who: TestKeeper) => ({
      ...{ keeperId: who.keeperId, animalId: a, share: { parts: 1, of: 1 }, since: '2026-06-05' },
      statement: 'It hatched out of my egg.',
    });
    const stranger = await world.keeper('A stranger');
    expect(ruleOf(await world.send('claimOwnership', claim(stranger), stranger, 'claim { id }'))).toBe('NOT_FOUND');
    const made = await world.done<{ claim: { id: string } }>(
      'claimOwnership',
      claim(borrower),
      borrower,
      'claim { id }',
    );
    expect(await world.clutches(loan, lender)).toMatchObject([{ undivided: 2 }]);
    expect(ruleOf(await world.pick(loan, clutchId, lender, a))).toBe('TRANSFER_OWNER_DISPUTED');
    await world.done('withdrawClaim', { claimId: made.claim.id }, borrower, 'claim { id }');
    expect(await world.clutches(loan, lender)).toMatchObject([{ undivided: 2 }]);
    expect(ruleOf(await world.pick(loan, clutchId, lender, a))).toBeUndefined();
    expect(ruleOf(await world.pick(loan, clutchId, borrower, b))).toBeUndefined();
  });

  it('goes to whom the two agree on, and is no longer of the split: then the clutch is corrected', async () => {
    const { loan, clutchId, young } = await bred(1);
    const [a = ''] = young;
    const claim = { keeperId: borrower.keeperId, animalId: a, share: { parts: 1, of: 1 }, since: '2026-06-05' };
    const made = await world.done<{ claim: { id: string; parties: { number: number; isYou: boolean }[] } }>(
      'claimOwnership',
      { ...claim, statement: 'Her clutch was another one.' },
      borrower,
      'claim { id parties { number isYou } }',
    );
    const claimId = made.claim.id;
    const { claim: read } = await world.done<{ claim: { parties: { number: number; isYou: boolean }[] } }>(
      'proposeShares',
      { claimId, shares: made.claim.parties.map(({ number, isYou }) => ({ party: number, parts: isYou ? 1 : 0 })) },
      borrower,
      'claim { parties { number isYou } }',
    );
    expect(read.parties).toHaveLength(2);
    await world.done('agreeToShares', { claimId, proposal: 1 }, lender, 'claim { id }');
    expect(await world.owners(a)).toEqual({ [borrower.keeperId]: 1 });
    expect(ruleOf(await correct(clutchId, { damId: await ownFemale() }))).toBeUndefined();
    expect(await world.clutches(loan, lender)).toMatchObject([{ undivided: 0 }]);
  });
});

describe('a lent dam with two records', () => {
  it('is lent with either: a clutch from before the second one came is of the loan of the first', async () => {
    const { loan, dam, sire } = await world.lent(lender, borrower, taxonId);
    server.setDay('2026-02-20');
    await world.breeding.do(borrower, 'recordMating', { damId: dam, sireId: sire, when: '2026-02-20' });
    server.setDay('2026-01-01');
    const twin = await world.animal(lender, taxonId, { sex: 'female', birth: BIRTH });
    await world.handOver(twin, lender, borrower, '2026-05-01', { kind: 'breeding_loan', dueBack: '2026-12-31' });
    server.setDay('2026-06-10');
    const merged = { keepId: twin, mergeId: dam, reason: 'One animal.' };
    await world.done('mergeRecords', merged, borrower, 'animal { id }');
    const clutchId = await world.clutchOf(twin, borrower);
    const [young = ''] = await world.hatch(clutchId, borrower, 1);
    expect(Object.keys(await world.owners(young)).sort()).toEqual([lender.keeperId, borrower.keeperId].sort());
    expect(await world.clutches(loan, lender)).toMatchObject([{ clutchId, undivided: 1 }]);
  });
});

describe('two records of one of the young', () => {
  const merge = (keepId: string, mergeId: string) =>
    world.send('mergeRecords', { keepId, mergeId, reason: 'Counted twice.' }, borrower, 'animal { id }');

  it('of one clutch become one, and are counted once', async () => {
    const { loan, clutchId, young } = await bred(3);
    const [a = '', b = ''] = young;
    expect(ruleOf(await merge(a, b))).toBeUndefined();
    expect(await world.clutches(loan, lender)).toMatchObject([{ clutchId, undivided: 2 }]);
    expect(ruleOf(await world.pick(loan, clutchId, lender, b))).toBe('LOAN_YOUNG_NOT_OF_BOTH');
    await world.done('undoMerge', { mergedId: b, reason: 'Two after all.' }, borrower, 'animal { id }');
    expect(await world.clutches(loan, lender)).toMatchObject([{ clutchId, undivided: 3 }]);
  });

  it('of two clutches stay apart, either way round, until they are picked', async () => {
    const { loan, dam, clutchId, young } = await bred(1);
    const [a = ''] = young;
    const [b = ''] = await world.hatch(await world.clutchOf(dam, borrower, '2026-05-01'), borrower, 1);
    for (const [keep, merged] of [
      [a, b],
      [b, a],
    ] as const)
      expect(ruleOf(await merge(keep, merged))).toBe('MERGE_LOAN_YOUNG');
    expect(await world.clutches(loan, lender)).toMatchObject([{ clutchId, undivided: 1 }, { undivided: 1 }]);
  });
});

describe('picks of a minor’s keeper', () => {
  it('are its guardian’s', async () => {
    const young = await world.keeper('Young');
    const { loan, dam } = await world.lent(lender, young, taxonId, { youngSplit: { ...TURNS, firstPick: 'borrower' } });
    const clutchId = await world.clutchOf(dam, young);
    const [a = ''] = await world.hatch(clutchId, young, 2);
    await world.db.keeper.update({ where: { id: young.keeperId }, data: { minorUntil: new Date('2030-01-01') } });
    expect(ruleOf(await world.pick(loan, clutchId, young, a))).toBe('GUARDIAN_AWAITED');
    const guardian = await world.keeper('Guardian');
    await new MinorWorld(server).guard(young, guardian);
    expect(ruleOf(await world.pick(loan, clutchId, young, a))).toBe('GUARDIAN_SPEAKS');
    expect(ruleOf(await world.pick(loan, clutchId, guardian, a))).toBeUndefined();
    expect(await world.owners(a)).toEqual({ [young.keeperId]: 1 });
  });
});

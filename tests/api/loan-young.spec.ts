import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { statementsOf } from '../support/query-count.js';
import { type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';
import { ruleOf, TURNS, youngCast, type YoungWorld } from '../support/young-world.js';

let server: TestApp;
let world: YoungWorld;
let lender: TestKeeper;
let borrower: TestKeeper;
let stranger: TestKeeper;
let helper: TestKeeper;
let taxonId: string;

beforeAll(async () => {
  server = await startTestApp();
  ({ world, lender, borrower, taxonId } = await youngCast(server));
  [stranger, helper] = [await world.keeper('A stranger'), await world.keeper('A helper')];
  const member = { keeperId: lender.keeperId, accountId: helper.accountId };
  await world.db.keeperMember.create({ data: { ...member, role: 'helper', since: new Date('2026-01-01') } });
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

/** Whose an animal is, as a keeper reads it. */
async function ownershipFor(animalId: string, who: TestKeeper): Promise<object | null> {
  const text = 'query ($id: ID!) { animal(id: $id) { ownership { since own { parts of } others disputed } } }';
  return (await server.get<{ animal: { ownership: object | null } }>(text, { id: animalId }, who.token)).animal
    .ownership;
}

describe('from a loan to whose the young are', () => {
  it('a dam lent with a split lays and hatches with the borrower; they pick in turns, and the lender’s come home', async () => {
    const { loan, dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01', { eggCount: 3 });
    const [a = '', b = '', c = ''] = await world.hatch(clutchId, borrower, 3);
    for (const young of [a, b, c]) expect(await owners(young)).toEqual(BOTH);
    const half = { since: '2026-06-05', own: { parts: 1, of: 2 }, others: 1, disputed: false };
    expect([await ownershipFor(a, lender), await ownershipFor(a, helper)]).toEqual([half, half]);
    expect(await ownershipFor(dam, borrower)).toMatchObject({ own: null, others: 1 });
    expect(await ownershipFor(dam, lender)).toMatchObject({ own: { parts: 1, of: 1 }, others: 0 });
    expect(await world.clutches(loan, lender)).toEqual([
      {
        clutchId,
        ...{ number: 1, undivided: 3, pickedByLender: 0, pickedByBorrower: 0, dueToLender: 2, dueToBorrower: 1 },
        ...{ oddOne: 'lender', oddOnePaidOut: false, oddOneWaits: false, turn: 'lender', picksInARow: 1 },
      },
    ]);
    expect(await world.clutches(loan, borrower)).toEqual(await world.clutches(loan, lender));

    expect(ruleOf(await world.pick(loan, clutchId, borrower, a))).toBe('LOAN_PICK_NOT_YOURS');
    expect(ruleOf(await world.pick(loan, clutchId, lender, a, b))).toBe('LOAN_PICK_TOO_MANY');
    expect(await world.picked(loan, clutchId, lender, b)).toMatchObject({
      undivided: 2,
      pickedByLender: 1,
      turn: 'borrower',
    });
    expect(await owners(b)).toEqual({ lender: 1 });
    expect(await world.holderOf(b)).toBe(borrower.keeperId);
    expect(ruleOf(await world.pick(loan, clutchId, borrower, b))).toBe('LOAN_YOUNG_PICKED');
    await world.picked(loan, clutchId, borrower, a);
    expect(await world.picked(loan, clutchId, lender, c)).toMatchObject({ undivided: 0, turn: null, picksInARow: 0 });
    expect(await owners(a)).toEqual({ borrower: 1 });
    expect(await owners(c)).toEqual({ lender: 1 });

    await world.handOver(b, borrower, lender, '2026-06-10', { kind: 'loan_return' });
    expect(await world.holderOf(b)).toBe(lender.keeperId);
    expect(await owners(b)).toEqual({ lender: 1 });
    expect([await ownershipFor(b, borrower), await ownershipFor(c, borrower)]).toMatchObject([null, { own: null }]);
    const text = `query ($loan: ID!, $clutch: ID!) { loanYoung(transferId: $loan, clutchId: $clutch) {
      edges { node { animalId isLot undivided pickedBy pickNumber pickedOn } } } }`;
    const { loanYoung } = await server.get<{ loanYoung: { edges: { node: { animalId: string } }[] } }>(
      text,
      { loan, clutch: clutchId },
      borrower.token,
    );
    const day = { isLot: false, undivided: false, pickedOn: '2026-06-10' };
    expect(loanYoung.edges.map(({ node }) => node).toSorted((x, y) => (x.animalId < y.animalId ? -1 : 1))).toEqual([
      { animalId: a, pickedBy: 'borrower', pickNumber: 2, ...day },
      { animalId: b, pickedBy: 'lender', pickNumber: 1, ...day },
      { animalId: c, pickedBy: 'lender', pickNumber: 3, ...day },
    ]);
  });

  it('the odd one alternates: of the next clutch it is the borrower’s', async () => {
    const { loan, dam } = await lent();
    const first = await world.clutchOf(dam, borrower, '2026-03-20');
    await world.hatch(first, borrower, 1);
    const second = await world.clutchOf(dam, borrower, '2026-04-20');
    const [young = ''] = await world.hatch(second, borrower, 1, { when: '2026-06-08' });
    expect((await world.clutches(loan, borrower)).map(({ number, turn }) => [number, turn])).toEqual([
      [1, 'lender'],
      [2, 'borrower'],
    ]);
    await world.picked(loan, second, borrower, young);
    expect(await owners(young)).toEqual({ borrower: 1 });
  });

  it('shared young belong to both in the agreed parts, and nobody picks', async () => {
    const { loan, dam } = await lent({ method: 'shared', lenderParts: 70, ofParts: 100 });
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    const [young = ''] = await world.hatch(clutchId, borrower, 1);
    expect(await owners(young)).toEqual({ lender: 7, borrower: 3 });
    expect(await world.clutches(loan, lender)).toMatchObject([
      { clutchId, undivided: 0, turn: null, dueToLender: null },
    ]);
    expect(ruleOf(await world.pick(loan, clutchId, lender, young))).toBe('LOAN_YOUNG_SHARED');
  });

  it('a loan that says nothing of young leaves them as they are, and so does what was laid before or after', async () => {
    const silent = await lent(null);
    const [own = ''] = await world.hatch(await world.clutchOf(silent.dam, borrower, '2026-04-01'), borrower, 1);
    expect(await owners(own)).toEqual({ borrower: 1 });
    expect(await world.clutches(silent.loan, lender)).toEqual([]);

    const { loan, dam } = await lent();
    const before = await world.clutchOf(dam, borrower, '2026-01-15');
    const [early = ''] = await world.hatch(before, borrower, 1, { when: '2026-03-20' });
    expect(await owners(early)).toEqual({ borrower: 1 });
    await world.handOver(dam, borrower, lender, '2026-03-01', { kind: 'loan_return' });
    server.setDay('2026-06-10');
    const [late = ''] = await world.hatch(await world.clutchOf(dam, lender, '2026-04-01'), lender, 1);
    expect(await owners(late)).toEqual({ lender: 1 });
    expect(await world.clutches(loan, lender)).toEqual([]);
  });

  it('what a dam lays at home after a mating on loan is divided too', async () => {
    const { loan, dam, sire } = await lent();
    server.setDay('2026-02-20');
    await world.breeding.do(borrower, 'recordMating', { damId: dam, sireId: sire, when: '2026-02-20' });
    await world.handOver(dam, borrower, lender, '2026-03-01', { kind: 'loan_return' }, { gravid: true });
    server.setDay('2026-06-10');
    const clutchId = await world.clutchOf(dam, lender, '2026-03-25');
    const [young = ''] = await world.hatch(clutchId, lender, 1);
    expect(await owners(young)).toEqual(BOTH);
    expect(await world.clutches(loan, borrower)).toHaveLength(1);
  });

  it('a lent male: young of the borrower’s dam with him as the only sire are divided, others are not', async () => {
    const birth = { edtf: '2020', manner: 'hatched' };
    server.setDay('2026-01-01');
    const sire = await world.animal(lender, taxonId, { sex: 'male', birth });
    const own = await world.animal(borrower, taxonId, { sex: 'male', birth });
    const dam = await world.animal(borrower, taxonId, { sex: 'female', birth });
    const terms = { kind: 'breeding_loan', dueBack: '2026-12-31', loanTerms: { youngSplit: TURNS } };
    const loan = await world.handOver(sire, lender, borrower, '2026-02-01', terms);
    server.setDay('2026-06-10');
    const his = await world.clutchOf(dam, borrower, '2026-04-01');
    const [young = ''] = await world.hatch(his, borrower, 1, { sire: { parentId: sire } });
    expect(await owners(young)).toEqual(BOTH);
    const candidates = [sire, own].map((parentId) => ({ parentId, probability: 0.5 }));
    const unsure = await world.clutchOf(dam, borrower, '2026-04-15');
    const [other = ''] = await world.hatch(unsure, borrower, 1, { when: '2026-06-09', sire: { candidates } });
    expect(await owners(other)).toEqual({ borrower: 1 });
    expect((await world.clutches(loan, lender)).map(({ clutchId }) => clutchId)).toEqual([his]);
  });
});

describe('between hatching and the last pick', () => {
  it('the one that is over waits while eggs may hatch', async () => {
    const { loan, dam } = await lent({ ...TURNS, oddOne: 'paid_out' });
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01', { eggCount: 2 });
    const [first = ''] = await world.hatch(clutchId, borrower, 1, { young: [{ eggNumber: 1 }] });
    expect(await world.clutches(loan, borrower)).toMatchObject([
      { turn: null, oddOneWaits: true, oddOnePaidOut: true },
    ]);
    expect(ruleOf(await world.pick(loan, clutchId, borrower, first))).toBe('LOAN_ODD_ONE_WAITS');
    await world.breeding.do(borrower, 'recordEggEvents', { clutchId, eggs: [2], kind: 'failed', when: '2026-06-06' });
    expect(await world.clutches(loan, borrower)).toMatchObject([{ turn: 'borrower', oddOneWaits: false }]);
    await world.picked(loan, clutchId, borrower, first);
    expect(await owners(first)).toEqual({ borrower: 1 });
  });

  it('young that die are counted out, and who comes next follows from those alive', async () => {
    const { loan, dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    const [a = '', b = '', c = ''] = await world.hatch(clutchId, borrower, 3);
    const dead = await world.send('recordDeath', { animalId: a, on: '2026-06-09' }, borrower, 'animal { id }');
    expect(dead.errors).toBeUndefined();
    expect(await world.clutches(loan, lender)).toMatchObject([
      { undivided: 2, dueToLender: 1, dueToBorrower: 1, oddOne: null },
    ]);
    expect(ruleOf(await world.pick(loan, clutchId, lender, a))).toBe('LOAN_YOUNG_GONE');
    await world.picked(loan, clutchId, lender, b);
    await world.picked(loan, clutchId, borrower, c);
  });

  it('lots are not picked; individuals raised out of them are', async () => {
    const { loan, dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    const [lot = ''] = await world.hatch(clutchId, borrower, 1, { young: [{ count: 4 }] });
    expect(await owners(lot)).toEqual(BOTH);
    expect(ruleOf(await world.pick(loan, clutchId, lender, lot))).toBe('LOAN_YOUNG_IS_LOT');
    const raised = await world.send(
      'raiseFromLot',
      { lotId: lot, on: '2026-06-10', animals: [{}, {}] },
      borrower,
      'animals { id }',
    );
    const ids = (raised.data as unknown as { raiseFromLot: { animals: { id: string }[] } }).raiseFromLot.animals;
    expect(await world.clutches(loan, lender)).toMatchObject([{ undivided: 2, turn: 'lender' }]);
    await world.picked(loan, clutchId, lender, ids[0]?.id ?? '');
    expect(await owners(ids[0]?.id ?? '')).toEqual({ lender: 1 });
    expect(await owners(ids[1]?.id ?? '')).toEqual(BOTH);
  });

  it('lots of two clutches stay apart while both sides own them', async () => {
    const { dam } = await lent();
    const one = await world.hatch(await world.clutchOf(dam, borrower, '2026-03-20'), borrower, 1, {
      young: [{ count: 4 }],
    });
    const two = await world.hatch(await world.clutchOf(dam, borrower, '2026-04-20'), borrower, 1, {
      young: [{ count: 3 }],
    });
    const join = { fromLotId: one[0], intoLotId: two[0], on: '2026-06-10' };
    expect(ruleOf(await world.send('joinLots', join, borrower, 'lot { id }'))).toBe('LOT_JOIN_LOAN_YOUNG');
  });
});

describe('who picks, and who reads', () => {
  it('a stranger finds no loan, a helper reads and does not pick, and other ids are as if there were no such thing', async () => {
    const { loan, dam } = await lent();
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    const [young = ''] = await world.hatch(clutchId, borrower, 2);
    expect(ruleOf(await world.pick(loan, clutchId, stranger, young))).toBe('NOT_FOUND');
    const text = `query ($id: ID!) { loanClutches(transferId: $id) { edges { node { turn } } } }`;
    expect(ruleOf(await server.ask(text, { id: loan }, stranger.token))).toBe('NOT_FOUND');
    expect(await world.clutches(loan, helper)).toHaveLength(1);
    expect(ruleOf(await world.pick(loan, clutchId, helper, young))).toBe('FORBIDDEN');
    const elsewhere = await lent();
    expect(ruleOf(await world.pick(elsewhere.loan, clutchId, lender, young))).toBe('NOT_FOUND');
    expect(ruleOf(await world.pick(loan, clutchId, lender, elsewhere.dam))).toBe('NOT_FOUND');
    const young2 = `query ($l: ID!, $c: ID!) { loanYoung(transferId: $l, clutchId: $c) { edges { node { animalId } } } }`;
    const none = await server.ask<{ loanYoung: { edges: unknown[] } }>(
      young2,
      { l: elsewhere.loan, c: clutchId },
      lender.token,
    );
    expect(none.data?.loanYoung.edges ?? []).toEqual([]);
  });

  it('whose turn it is hears so, and so does the other side of young the first has recorded', async () => {
    const { loan, dam } = await lent({ ...TURNS, firstPick: 'borrower' });
    const clutchId = await world.clutchOf(dam, borrower, '2026-04-01');
    const [a = '', b = ''] = await world.hatch(clutchId, borrower, 2);
    await world.picked(loan, clutchId, borrower, a);
    await world.picked(loan, clutchId, lender, b);
    const messages = await world.db.outboxMessage.findMany({
      where: { job: 'transfer.tell-other-side', payload: { path: ['transferId'], equals: loan } },
      orderBy: { id: 'asc' },
    });
    const told = messages.map(({ payload }) => payload as { keeperId: string; what: string });
    expect(
      told.slice(-3).map(({ keeperId, what }) => [keeperId === lender.keeperId ? 'lender' : 'borrower', what]),
    ).toEqual([
      ['borrower', 'pick_due'],
      ['lender', 'young_recorded'],
      ['lender', 'pick_due'],
    ]);
  });
});

describe('what a loan has come to', () => {
  it('is read in as many statements for many clutches and young as for few', async () => {
    const count = async (clutchCount: number, youngCount: number): Promise<number[]> => {
      const { loan, dam } = await lent();
      const ids: string[] = [];
      for (let i = 0; i < clutchCount; i += 1) {
        const input = { damId: dam, laid: `2026-03-0${i + 1}`, separateClutch: true };
        ids.push((await world.breeding.do(borrower, 'recordClutch', input)).clutch.id);
      }
      for (const id of ids) await world.hatch(id, borrower, id === ids[0] ? youngCount : 1);
      const text = `query ($id: ID!, $c: ID!) { loanYoung(transferId: $id, clutchId: $c, first: 50) { edges { node { animalId } } } }`;
      const young = async (): Promise<number> =>
        (await server.get<{ loanYoung: { edges: unknown[] } }>(text, { id: loan, c: ids[0] }, borrower.token)).loanYoung
          .edges.length;
      expect(await young()).toBe(youngCount);
      expect(await world.clutches(loan, borrower)).toHaveLength(clutchCount);
      const ofClutches = (await statementsOf(() => world.clutches(loan, borrower))).length;
      return [ofClutches, (await statementsOf(young)).length];
    };
    const few = await count(2, 2);
    expect(Math.min(...few)).toBeGreaterThan(2);
    expect(await count(8, 20)).toEqual(few);
  });
});

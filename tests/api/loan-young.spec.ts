import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { BreedingWorld } from '../support/breeding-world.js';
import { endQuarantine } from '../support/end-quarantine.js';
import { statementsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
let world: RegistryWorld;
let breeding: BreedingWorld;
let lender: TestKeeper;
let borrower: TestKeeper;
let buyer: TestKeeper;
let stranger: TestKeeper;
let helper: TestKeeper;
let taxonId: string;

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
  breeding = new BreedingWorld(server, world);
  server.setDay('2026-01-01');
  [lender, borrower] = [await world.keeper('Haus Lender'), await world.keeper('Haus Borrower')];
  [buyer, stranger] = [await world.keeper('Haus Buyer'), await world.keeper('A stranger')];
  helper = await world.keeper('A helper');
  const member = { keeperId: lender.keeperId, accountId: helper.accountId };
  await world.db.keeperMember.create({ data: { ...member, role: 'helper', since: new Date('2026-01-01') } });
  taxonId = await breeding.taxon();
});
afterAll(async () => {
  await world.close();
  await server.close();
});
beforeEach(() => server.setDay('2026-06-10'));

type Turn = 'lender' | 'borrower' | null;
type Clutch = {
  clutchId: string;
  number: number;
  undivided: number;
  turn: Turn;
  oddOneWaits: boolean;
  picksInARow: number;
};
const CLUTCH = `clutchId number undivided pickedByLender pickedByBorrower dueToLender dueToBorrower oddOne oddOnePaidOut
  oddOneWaits turn picksInARow`;

const TURNS = { method: 'by_turns', lenderParts: 1, ofParts: 2, firstPick: 'lender', oddOne: 'alternates' };

/** Sends a mutation; gives the answer as it came. */
function send(name: string, input: object, who: TestKeeper, fields: string): Promise<Answer<Record<string, never>>> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  return server.ask(`mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`, { input }, who.token);
}

async function transferStep(name: string, input: object, who: TestKeeper): Promise<string> {
  const answer = await send(name, input, who, 'transfer { id }');
  if (answer.errors !== undefined) throw new Error(`${name}: ${JSON.stringify(answer.errors)}`);
  return (answer.data as unknown as Record<string, { transfer: { id: string } }>)[name]?.transfer.id ?? '';
}

async function handOver(
  animalId: string,
  from: TestKeeper,
  to: TestKeeper,
  on: string,
  terms: object,
  gravid = false,
): Promise<string> {
  server.setDay(on);
  const offer = { fromKeeperId: from.keeperId, toKeeperId: to.keeperId, items: [{ animalId, gravid }], ...terms };
  const transferId = await transferStep('offerTransfer', offer, from);
  await transferStep('acceptTransfer', { transferId }, to);
  await transferStep('sendTransfer', { transferId, sentOn: on }, from);
  const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
  await transferStep('receiveTransfer', { transferId, receivedOn: on, items }, to);
  await endQuarantine(world.db, animalId, on);
  return transferId;
}

/** A dam that goes on loan on 2026-02-01, and the borrower's male. */
async function lent(youngSplit: object | null = TURNS): Promise<{ loan: string; dam: string; sire: string }> {
  const birth = { edtf: '2020', manner: 'hatched' };
  server.setDay('2026-01-01');
  const dam = await world.animal(lender, taxonId, { sex: 'female', birth });
  const sire = await world.animal(borrower, taxonId, { sex: 'male', birth });
  const terms = {
    kind: 'breeding_loan',
    dueBack: '2026-12-31',
    ...(youngSplit === null ? {} : { loanTerms: { youngSplit } }),
  };
  const loan = await handOver(dam, lender, borrower, '2026-02-01', terms);
  server.setDay('2026-06-10');
  return { loan, dam, sire };
}

async function clutchOf(damId: string, by: TestKeeper, laid: string, eggCount?: number): Promise<string> {
  return (await breeding.do(by, 'recordClutch', { damId, laid, ...(eggCount === undefined ? {} : { eggCount }) }))
    .clutch.id;
}

async function hatch(clutchId: string, by: TestKeeper, count: number, more: object = {}): Promise<string[]> {
  const young = Array.from({ length: count }, () => ({}));
  const made = await breeding.do(by, 'recordHatchlings', { clutchId, when: '2026-06-05', young, ...more });
  return made.young.map(({ id }) => id);
}

async function clutches(loan: string, who: TestKeeper): Promise<Clutch[]> {
  const text = `query ($id: ID!) { loanClutches(transferId: $id) { edges { node { ${CLUTCH} } } } }`;
  const { loanClutches } = await server.get<{ loanClutches: { edges: { node: Clutch }[] } }>(
    text,
    { id: loan },
    who.token,
  );
  return loanClutches.edges.map(({ node }) => node);
}

const pick = (loan: string, clutchId: string, who: TestKeeper, ...animalIds: string[]) =>
  send('pickYoung', { transferId: loan, clutchId, animalIds }, who, `clutch { ${CLUTCH} }`);

async function picked(loan: string, clutchId: string, who: TestKeeper, ...animalIds: string[]): Promise<Clutch> {
  const answer = await pick(loan, clutchId, who, ...animalIds);
  if (answer.errors !== undefined) throw new Error(JSON.stringify(answer.errors));
  return (answer.data as unknown as { pickYoung: { clutch: Clutch } }).pickYoung.clutch;
}

const ruleOf = (answer: Answer<unknown>): string | undefined =>
  answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code;

async function owners(animalId: string): Promise<Record<string, number>> {
  const shares = await world.db.ownershipShare.findMany({
    where: { ownership: { animalId, supersededAt: null, validTo: null } },
  });
  const name = (id: string | null): string =>
    id === lender.keeperId ? 'lender' : id === borrower.keeperId ? 'borrower' : 'other';
  return Object.fromEntries(shares.map(({ keeperId, parts }) => [name(keeperId), parts]));
}

const holderOf = async (animalId: string): Promise<string | null> =>
  (await world.db.custody.findFirstOrThrow({ where: { animalId, supersededAt: null, validTo: null } })).keeperId;

/** Whose an animal is, as a keeper reads it. */
async function ownershipFor(animalId: string, who: TestKeeper): Promise<object | null> {
  const text = 'query ($id: ID!) { animal(id: $id) { ownership { since own { parts of } others disputed } } }';
  return (await server.get<{ animal: { ownership: object | null } }>(text, { id: animalId }, who.token)).animal
    .ownership;
}

const BOTH = { lender: 1, borrower: 1 };

const offerEggs = (clutchId: string, who: TestKeeper, more: object) => {
  const offer = { fromKeeperId: who.keeperId, kind: 'gift', items: [], eggs: [{ clutchId }], ...more };
  return send('offerTransfer', offer, who, 'transfer { id }');
};

/** The transfer of an offer that was not refused. */
function offered({ data, errors }: Answer<unknown>): string {
  if (errors !== undefined) throw new Error(JSON.stringify(errors));
  return (data as { offerTransfer: { transfer: { id: string } } }).offerTransfer.transfer.id;
}

/** Another keeper of the same account. */
async function secondKeeper(of: TestKeeper): Promise<TestKeeper> {
  const answer = await send('openKeeper', { name: 'Haus Second' }, of, 'keeper { id }');
  if (answer.errors !== undefined) throw new Error(JSON.stringify(answer.errors));
  const { id } = (answer.data as unknown as { openKeeper: { keeper: { id: string } } }).openKeeper.keeper;
  return { ...of, keeperId: id };
}

describe('from a loan to whose the young are', () => {
  it('a dam lent with a split lays and hatches with the borrower; they pick in turns, and the lender’s come home', async () => {
    const { loan, dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01', 3);
    const [a = '', b = '', c = ''] = await hatch(clutchId, borrower, 3);
    for (const young of [a, b, c]) expect(await owners(young)).toEqual(BOTH);
    const half = { since: '2026-06-05', own: { parts: 1, of: 2 }, others: 1, disputed: false };
    expect([await ownershipFor(a, lender), await ownershipFor(a, helper)]).toEqual([half, half]);
    expect(await ownershipFor(dam, borrower)).toMatchObject({ own: null, others: 1 });
    expect(await ownershipFor(dam, lender)).toMatchObject({ own: { parts: 1, of: 1 }, others: 0 });
    expect(await clutches(loan, lender)).toEqual([
      {
        clutchId,
        ...{ number: 1, undivided: 3, pickedByLender: 0, pickedByBorrower: 0, dueToLender: 2, dueToBorrower: 1 },
        ...{ oddOne: 'lender', oddOnePaidOut: false, oddOneWaits: false, turn: 'lender', picksInARow: 1 },
      },
    ]);
    expect(await clutches(loan, borrower)).toEqual(await clutches(loan, lender));

    expect(ruleOf(await pick(loan, clutchId, borrower, a))).toBe('LOAN_PICK_NOT_YOURS');
    expect(ruleOf(await pick(loan, clutchId, lender, a, b))).toBe('LOAN_PICK_TOO_MANY');
    expect(await picked(loan, clutchId, lender, b)).toMatchObject({
      undivided: 2,
      pickedByLender: 1,
      turn: 'borrower',
    });
    expect(await owners(b)).toEqual({ lender: 1 });
    expect(await holderOf(b)).toBe(borrower.keeperId);
    expect(ruleOf(await pick(loan, clutchId, borrower, b))).toBe('LOAN_YOUNG_PICKED');
    await picked(loan, clutchId, borrower, a);
    expect(await picked(loan, clutchId, lender, c)).toMatchObject({ undivided: 0, turn: null, picksInARow: 0 });
    expect(await owners(a)).toEqual({ borrower: 1 });
    expect(await owners(c)).toEqual({ lender: 1 });

    await handOver(b, borrower, lender, '2026-06-10', { kind: 'loan_return' });
    expect(await holderOf(b)).toBe(lender.keeperId);
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
    const first = await clutchOf(dam, borrower, '2026-03-20');
    await hatch(first, borrower, 1);
    const second = await clutchOf(dam, borrower, '2026-04-20');
    const [young = ''] = await hatch(second, borrower, 1, { when: '2026-06-08' });
    expect((await clutches(loan, borrower)).map(({ number, turn }) => [number, turn])).toEqual([
      [1, 'lender'],
      [2, 'borrower'],
    ]);
    await picked(loan, second, borrower, young);
    expect(await owners(young)).toEqual({ borrower: 1 });
  });

  it('shared young belong to both in the agreed parts, and nobody picks', async () => {
    const { loan, dam } = await lent({ method: 'shared', lenderParts: 70, ofParts: 100 });
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    const [young = ''] = await hatch(clutchId, borrower, 1);
    expect(await owners(young)).toEqual({ lender: 7, borrower: 3 });
    expect(await clutches(loan, lender)).toMatchObject([{ clutchId, undivided: 0, turn: null, dueToLender: null }]);
    expect(ruleOf(await pick(loan, clutchId, lender, young))).toBe('LOAN_YOUNG_SHARED');
  });

  it('a loan that says nothing of young leaves them as they are, and so does what was laid before or after', async () => {
    const silent = await lent(null);
    const [own = ''] = await hatch(await clutchOf(silent.dam, borrower, '2026-04-01'), borrower, 1);
    expect(await owners(own)).toEqual({ borrower: 1 });
    expect(await clutches(silent.loan, lender)).toEqual([]);

    const { loan, dam } = await lent();
    const before = await clutchOf(dam, borrower, '2026-01-15');
    const [early = ''] = await hatch(before, borrower, 1, { when: '2026-03-20' });
    expect(await owners(early)).toEqual({ borrower: 1 });
    await handOver(dam, borrower, lender, '2026-03-01', { kind: 'loan_return' });
    server.setDay('2026-06-10');
    const [late = ''] = await hatch(await clutchOf(dam, lender, '2026-04-01'), lender, 1);
    expect(await owners(late)).toEqual({ lender: 1 });
    expect(await clutches(loan, lender)).toEqual([]);
  });

  it('what a dam lays at home after a mating on loan is divided too', async () => {
    const { loan, dam, sire } = await lent();
    server.setDay('2026-02-20');
    await breeding.do(borrower, 'recordMating', { damId: dam, sireId: sire, when: '2026-02-20' });
    await handOver(dam, borrower, lender, '2026-03-01', { kind: 'loan_return' }, true);
    server.setDay('2026-06-10');
    const clutchId = await clutchOf(dam, lender, '2026-03-25');
    const [young = ''] = await hatch(clutchId, lender, 1);
    expect(await owners(young)).toEqual(BOTH);
    expect(await clutches(loan, borrower)).toHaveLength(1);
  });

  it('a lent male: young of the borrower’s dam with him as the only sire are divided, others are not', async () => {
    const birth = { edtf: '2020', manner: 'hatched' };
    server.setDay('2026-01-01');
    const sire = await world.animal(lender, taxonId, { sex: 'male', birth });
    const own = await world.animal(borrower, taxonId, { sex: 'male', birth });
    const dam = await world.animal(borrower, taxonId, { sex: 'female', birth });
    const terms = { kind: 'breeding_loan', dueBack: '2026-12-31', loanTerms: { youngSplit: TURNS } };
    const loan = await handOver(sire, lender, borrower, '2026-02-01', terms);
    server.setDay('2026-06-10');
    const his = await clutchOf(dam, borrower, '2026-04-01');
    const [young = ''] = await hatch(his, borrower, 1, { sire: { parentId: sire } });
    expect(await owners(young)).toEqual(BOTH);
    const candidates = [sire, own].map((parentId) => ({ parentId, probability: 0.5 }));
    const unsure = await clutchOf(dam, borrower, '2026-04-15');
    const [other = ''] = await hatch(unsure, borrower, 1, { when: '2026-06-09', sire: { candidates } });
    expect(await owners(other)).toEqual({ borrower: 1 });
    expect((await clutches(loan, lender)).map(({ clutchId }) => clutchId)).toEqual([his]);
  });
});

describe('between hatching and the last pick', () => {
  it('the one that is over waits while eggs may hatch', async () => {
    const { loan, dam } = await lent({ ...TURNS, oddOne: 'paid_out' });
    const clutchId = await clutchOf(dam, borrower, '2026-04-01', 2);
    const [first = ''] = await hatch(clutchId, borrower, 1, { young: [{ eggNumber: 1 }] });
    expect(await clutches(loan, borrower)).toMatchObject([{ turn: null, oddOneWaits: true, oddOnePaidOut: true }]);
    expect(ruleOf(await pick(loan, clutchId, borrower, first))).toBe('LOAN_ODD_ONE_WAITS');
    await breeding.do(borrower, 'recordEggEvents', { clutchId, eggs: [2], kind: 'failed', when: '2026-06-06' });
    expect(await clutches(loan, borrower)).toMatchObject([{ turn: 'borrower', oddOneWaits: false }]);
    await picked(loan, clutchId, borrower, first);
    expect(await owners(first)).toEqual({ borrower: 1 });
  });

  it('young that die are counted out, and who comes next follows from those alive', async () => {
    const { loan, dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    const [a = '', b = '', c = ''] = await hatch(clutchId, borrower, 3);
    const dead = await send('recordDeath', { animalId: a, on: '2026-06-09' }, borrower, 'animal { id }');
    expect(dead.errors).toBeUndefined();
    expect(await clutches(loan, lender)).toMatchObject([
      { undivided: 2, dueToLender: 1, dueToBorrower: 1, oddOne: null },
    ]);
    expect(ruleOf(await pick(loan, clutchId, lender, a))).toBe('LOAN_YOUNG_GONE');
    await picked(loan, clutchId, lender, b);
    await picked(loan, clutchId, borrower, c);
  });

  it('lots are not picked; individuals raised out of them are', async () => {
    const { loan, dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    const [lot = ''] = await hatch(clutchId, borrower, 1, { young: [{ count: 4 }] });
    expect(await owners(lot)).toEqual(BOTH);
    expect(ruleOf(await pick(loan, clutchId, lender, lot))).toBe('LOAN_YOUNG_IS_LOT');
    const raised = await send(
      'raiseFromLot',
      { lotId: lot, on: '2026-06-10', animals: [{}, {}] },
      borrower,
      'animals { id }',
    );
    const ids = (raised.data as unknown as { raiseFromLot: { animals: { id: string }[] } }).raiseFromLot.animals;
    expect(await clutches(loan, lender)).toMatchObject([{ undivided: 2, turn: 'lender' }]);
    await picked(loan, clutchId, lender, ids[0]?.id ?? '');
    expect(await owners(ids[0]?.id ?? '')).toEqual({ lender: 1 });
    expect(await owners(ids[1]?.id ?? '')).toEqual(BOTH);
  });

  it('lots of two clutches stay apart while both sides own them', async () => {
    const { dam } = await lent();
    const one = await hatch(await clutchOf(dam, borrower, '2026-03-20'), borrower, 1, { young: [{ count: 4 }] });
    const two = await hatch(await clutchOf(dam, borrower, '2026-04-20'), borrower, 1, { young: [{ count: 3 }] });
    const join = { fromLotId: one[0], intoLotId: two[0], on: '2026-06-10' };
    expect(ruleOf(await send('joinLots', join, borrower, 'lot { id }'))).toBe('LOT_JOIN_LOAN_YOUNG');
  });

  it('what is not divided is given to nobody else, and comes home all the same', async () => {
    const { dam } = await lent();
    const [young = ''] = await hatch(await clutchOf(dam, borrower, '2026-04-01'), borrower, 1);
    const gift = {
      fromKeeperId: borrower.keeperId,
      toKeeperId: buyer.keeperId,
      kind: 'gift',
      items: [{ animalId: young }],
    };
    expect(ruleOf(await send('offerTransfer', gift, borrower, 'transfer { id }'))).toBe('TRANSFER_YOUNG_UNDIVIDED');
    await handOver(young, borrower, lender, '2026-06-10', { kind: 'loan_return' });
    expect(await owners(young)).toEqual(BOTH);
  });

  it('a lot of young that are picked in turns is given to nobody else either, whole or in part', async () => {
    const { dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    const [lot = ''] = await hatch(clutchId, borrower, 1, { young: [{ count: 4 }] });
    for (const item of [{ animalId: lot }, { animalId: lot, count: 1 }]) {
      const gift = { fromKeeperId: borrower.keeperId, toKeeperId: buyer.keeperId, kind: 'gift', items: [item] };
      expect(ruleOf(await send('offerTransfer', gift, borrower, 'transfer { id }'))).toBe('TRANSFER_YOUNG_UNDIVIDED');
    }
    const shared = await lent({ method: 'shared', lenderParts: 1, ofParts: 2 });
    const [free = ''] = await hatch(await clutchOf(shared.dam, borrower, '2026-04-01'), borrower, 1, {
      young: [{ count: 4 }],
    });
    const gift = {
      fromKeeperId: borrower.keeperId,
      toKeeperId: buyer.keeperId,
      kind: 'gift',
      items: [{ animalId: free }],
    };
    expect(ruleOf(await send('offerTransfer', gift, borrower, 'transfer { id }'))).toBeUndefined();
  });

  it('eggs of the loan go to the other side and to nobody else, whoever of the two has them', async () => {
    const { dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01', 2);
    const blocked = { kind: 'clutch', id: clutchId, remedy: expect.stringContaining('other side of the loan') };
    for (const more of [{ toKeeperId: buyer.keeperId }, { toOutsideParty: { name: 'Somebody' } }]) {
      const { errors } = await offerEggs(clutchId, borrower, more);
      expect(errors?.[0]?.extensions).toMatchObject({ rule: 'TRANSFER_YOUNG_UNDIVIDED', blockers: [blocked] });
    }
    const transferId = offered(await offerEggs(clutchId, borrower, { toKeeperId: lender.keeperId }));
    await transferStep('acceptTransfer', { transferId }, lender);
    await transferStep('sendTransfer', { transferId, sentOn: '2026-06-10' }, borrower);
    const eggs = [{ clutchId, numbers: [1, 2], state: 'well' }];
    await transferStep('receiveTransfer', { transferId, receivedOn: '2026-06-10', items: [], eggs }, lender);
    expect(ruleOf(await offerEggs(clutchId, lender, { toKeeperId: buyer.keeperId }))).toBe('TRANSFER_YOUNG_UNDIVIDED');
    const [young = ''] = await hatch(clutchId, lender, 1, { when: '2026-06-10', young: [{ eggNumber: 1 }] });
    expect(await owners(young)).toEqual(BOTH);
  });

  it('so do eggs of shared young, and of a lent male who is the likely sire; other eggs go where they are offered', async () => {
    const shared = await lent({ method: 'shared', lenderParts: 1, ofParts: 2 });
    const kept = await clutchOf(shared.dam, borrower, '2026-04-01', 2);
    expect(ruleOf(await offerEggs(kept, borrower, { toKeeperId: buyer.keeperId }))).toBe('TRANSFER_YOUNG_UNDIVIDED');
    const silent = await lent(null);
    offered(
      await offerEggs(await clutchOf(silent.dam, borrower, '2026-04-01', 2), borrower, { toKeeperId: buyer.keeperId }),
    );

    const birth = { edtf: '2020', manner: 'hatched' };
    server.setDay('2026-01-01');
    const sire = await world.animal(lender, taxonId, { sex: 'male', birth });
    const [dam, other] = [
      await world.animal(borrower, taxonId, { sex: 'female', birth }),
      await world.animal(borrower, taxonId, { sex: 'female', birth }),
    ];
    const terms = { kind: 'breeding_loan', dueBack: '2026-12-31', loanTerms: { youngSplit: TURNS } };
    await handOver(sire, lender, borrower, '2026-02-01', terms);
    server.setDay('2026-06-10');
    await breeding.do(borrower, 'recordMating', { damId: dam, sireId: sire, when: '2026-03-01' });
    const his = await clutchOf(dam, borrower, '2026-04-01', 2);
    expect(ruleOf(await offerEggs(his, borrower, { toKeeperId: buyer.keeperId }))).toBe('TRANSFER_YOUNG_UNDIVIDED');
    const nobodys = await clutchOf(other, borrower, '2026-04-01', 2);
    offered(await offerEggs(nobodys, borrower, { toKeeperId: buyer.keeperId }));
  });

  it('young are divided also when they are put with another of the recorder’s keepers', async () => {
    const { loan, dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    const { keeperId } = await secondKeeper(borrower);
    const [young = ''] = await hatch(clutchId, borrower, 1, { keeperId });
    expect(await holderOf(young)).toBe(keeperId);
    expect(await owners(young)).toEqual(BOTH);
    const since = { birth: { edtf: '2026-06-05', manner: 'hatched' }, since: '2026-06-05' };
    const animalId = await world.animal({ ...borrower, keeperId }, taxonId, since);
    await breeding.do(borrower, 'recordHatching', { clutchId, animalId, when: '2026-06-05' });
    expect(await owners(animalId)).toEqual(BOTH);
    expect(await clutches(loan, lender)).toMatchObject([{ undivided: 2, turn: 'lender' }]);
  });

  it('the hatching of what is offered is recorded once the offer is withdrawn, and divides it then', async () => {
    const { dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    const since = { birth: { edtf: '2026-06-05', manner: 'hatched' }, since: '2026-06-05' };
    const animalId = await world.animal(borrower, taxonId, since);
    const gift = { fromKeeperId: borrower.keeperId, toKeeperId: buyer.keeperId, kind: 'gift', items: [{ animalId }] };
    const transferId = await transferStep('offerTransfer', gift, borrower);
    const hatched = { clutchId, animalId, when: '2026-06-05' };
    expect(await breeding.refused(borrower, 'recordHatching', hatched)).toMatchObject({
      rule: 'HATCHING_LOAN_OFFERED',
      blockers: [{ kind: 'animal', id: animalId, remedy: expect.stringContaining('Withdraw the offer') }],
    });
    expect(await owners(animalId)).toEqual({ borrower: 1 });
    await transferStep('withdrawTransfer', { transferId }, borrower);
    await breeding.do(borrower, 'recordHatching', hatched);
    expect(await owners(animalId)).toEqual(BOTH);
  });

  it('a hatching recorded later brings an animal under the terms; one taken back takes it out', async () => {
    const { loan, dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    const animalId = await world.animal(borrower, taxonId, {
      birth: { edtf: '2026-06-05', manner: 'hatched' },
      since: '2026-06-05',
    });
    const { hatching } = await breeding.do(borrower, 'recordHatching', { clutchId, animalId, when: '2026-06-05' });
    expect(await owners(animalId)).toEqual(BOTH);
    expect(await clutches(loan, lender)).toMatchObject([{ undivided: 1 }]);
    const taken = { kind: 'hatching', factId: hatching.id, takeBack: true, reason: 'Of another dam.' };
    await breeding.do(borrower, 'correctBreedingFact', taken);
    expect(await clutches(loan, lender)).toMatchObject([{ undivided: 0 }]);
  });
});

describe('what is no young of the loan', () => {
  it('an animal of the other side that is only kept here stays its own, whatever clutch it is said to have hatched in', async () => {
    const { loan, dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    server.setDay('2026-01-01');
    const animalId = await world.animal(lender, taxonId);
    await handOver(animalId, lender, borrower, '2026-02-01', { kind: 'breeding_loan', dueBack: '2026-12-31' });
    server.setDay('2026-06-10');
    await breeding.do(borrower, 'recordHatching', { clutchId, animalId, when: '2026-06-05' });
    expect(await owners(animalId)).toEqual({ lender: 1 });
    expect(await clutches(loan, lender)).toEqual([]);
    // Its owner may say so.
    const { hatching } = await breeding.do(borrower, 'recordHatching', {
      clutchId,
      animalId: await world.animal(borrower, taxonId, { since: '2026-06-05' }),
      when: '2026-06-05',
    });
    expect(hatching.id).toBeDefined();
    expect(await clutches(loan, lender)).toMatchObject([{ undivided: 1 }]);
  });

  it('one recorded under the wrong clutch and then under the right one is divided with the right one', async () => {
    const { loan, dam } = await lent();
    const wrong = await clutchOf(dam, borrower, '2026-03-20');
    const right = await clutchOf(dam, borrower, '2026-04-10');
    const [animalId = ''] = await hatch(wrong, borrower, 1);
    const { id } = await world.db.hatching.findFirstOrThrow({ where: { animalId } });
    const taken = { kind: 'hatching', factId: id, takeBack: true, reason: 'Of the later clutch.' };
    await breeding.do(borrower, 'correctBreedingFact', taken);
    await breeding.do(borrower, 'recordHatching', { clutchId: right, animalId, when: '2026-06-05' });
    const undivided = (await clutches(loan, lender)).map((clutch) => [clutch.clutchId, clutch.undivided]);
    expect(undivided).toEqual([
      [wrong, 0],
      [right, 1],
    ]);
    expect(await owners(animalId)).toEqual(BOTH);
    expect(ruleOf(await pick(loan, wrong, lender, animalId))).toBe('NOT_FOUND');
    await picked(loan, right, lender, animalId);
    expect(await owners(animalId)).toEqual({ lender: 1 });
  });

  it('one that hatched in a clutch of no loan after all is no longer divided', async () => {
    const { loan, dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    const [animalId = '', other = ''] = await hatch(clutchId, borrower, 2);
    const { id } = await world.db.hatching.findFirstOrThrow({ where: { animalId } });
    const taken = { kind: 'hatching', factId: id, takeBack: true, reason: 'Of another dam.' };
    await breeding.do(borrower, 'correctBreedingFact', taken);
    const own = await world.animal(borrower, taxonId, { sex: 'female', birth: { edtf: '2020', manner: 'hatched' } });
    const elsewhere = await clutchOf(own, borrower, '2026-04-01');
    await breeding.do(borrower, 'recordHatching', { clutchId: elsewhere, animalId, when: '2026-06-05' });
    expect(await clutches(loan, lender)).toMatchObject([{ clutchId, undivided: 1 }]);
    expect(ruleOf(await pick(loan, clutchId, lender, animalId))).toBe('LOAN_YOUNG_NOT_OF_BOTH');
    await picked(loan, clutchId, lender, other);
  });
});

describe('who picks, and who reads', () => {
  it('a stranger finds no loan, a helper reads and does not pick, and other ids are as if there were no such thing', async () => {
    const { loan, dam } = await lent();
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    const [young = ''] = await hatch(clutchId, borrower, 2);
    expect(ruleOf(await pick(loan, clutchId, stranger, young))).toBe('NOT_FOUND');
    const text = `query ($id: ID!) { loanClutches(transferId: $id) { edges { node { turn } } } }`;
    expect(ruleOf(await server.ask(text, { id: loan }, stranger.token))).toBe('NOT_FOUND');
    expect(await clutches(loan, helper)).toHaveLength(1);
    expect(ruleOf(await pick(loan, clutchId, helper, young))).toBe('FORBIDDEN');
    const elsewhere = await lent();
    expect(ruleOf(await pick(elsewhere.loan, clutchId, lender, young))).toBe('NOT_FOUND');
    expect(ruleOf(await pick(loan, clutchId, lender, elsewhere.dam))).toBe('NOT_FOUND');
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
    const clutchId = await clutchOf(dam, borrower, '2026-04-01');
    const [a = '', b = ''] = await hatch(clutchId, borrower, 2);
    await picked(loan, clutchId, borrower, a);
    await picked(loan, clutchId, lender, b);
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
        ids.push((await breeding.do(borrower, 'recordClutch', input)).clutch.id);
      }
      for (const id of ids) await hatch(id, borrower, id === ids[0] ? youngCount : 1);
      const text = `query ($id: ID!, $c: ID!) { loanYoung(transferId: $id, clutchId: $c, first: 50) { edges { node { animalId } } } }`;
      const young = async (): Promise<number> =>
        (await server.get<{ loanYoung: { edges: unknown[] } }>(text, { id: loan, c: ids[0] }, borrower.token)).loanYoung
          .edges.length;
      expect(await young()).toBe(youngCount);
      expect(await clutches(loan, borrower)).toHaveLength(clutchCount);
      const ofClutches = (await statementsOf(() => clutches(loan, borrower))).length;
      return [ofClutches, (await statementsOf(young)).length];
    };
    const few = await count(2, 2);
    expect(Math.min(...few)).toBeGreaterThan(2);
    expect(await count(8, 20)).toEqual(few);
  });
});

import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { MinorWorld } from '../support/minor-world.js';
import { statementsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

const LOAN = `loan { state dueBack out before: dueBackAsOf(on: "2026-06-01") none: dueBackAsOf(on: "2026-05-31")
  days { id askedBy dueBack dueBackBefore outcome } deaths { animalId on count due value { minor currency } }
  viewerCan { ask answer withdraw recall } }`;
const TRANSFER = `transfer { id version dueBack
  loanTerms { recallDays keepCosts onDeath value { minor currency } youngSplit { method lenderParts ofParts firstPick oddOne } }
  ${LOAN} }`;
const TERMS = {
  recallDays: 14,
  keepCosts: 'borrower',
  onDeath: 'value_due',
  value: { minor: 98_765, currency: 'EUR' },
  youngSplit: { method: 'by_turns', lenderParts: 1, ofParts: 2, firstPick: 'lender', oddOne: 'alternates' },
};

type Loan = {
  state: string;
  dueBack: string;
  before: string;
  none: string | null;
  out: number;
  days: { id: string; outcome: string | null }[];
  deaths: object[];
  viewerCan: Record<string, boolean>;
};
type Transfer = { id: string; version: number; dueBack: string; loanTerms: object | null; loan: Loan | null };

let test: TestApp;
let world: RegistryWorld;
let lender: TestKeeper;
let borrower: TestKeeper;
let helper: TestKeeper;
let stranger: TestKeeper;
let taxon: string;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  test.setDay('2026-06-01');
  [lender, borrower] = [await world.keeper('Haus Lender'), await world.keeper('Haus Borrower')];
  [helper, stranger] = [await world.keeper('A helper'), await world.keeper('A stranger')];
  const member = { keeperId: borrower.keeperId, accountId: helper.accountId };
  await world.db.keeperMember.create({ data: { ...member, role: 'helper', since: new Date('2026-01-01') } });
  taxon = await world.taxon();
});
afterAll(async () => {
  await world.close();
  await test.close();
});

function send(name: string, input: object, who: TestKeeper): Promise<Answer<Record<string, { transfer: Transfer }>>> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  return test.ask(`mutation ($input: ${type}!) { ${name}(input: $input) { ${TRANSFER} } }`, { input }, who.token);
}

async function done(name: string, input: object, who: TestKeeper): Promise<Transfer> {
  const answer = await send(name, input, who);
  const transfer = answer.data?.[name]?.transfer;
  if (answer.errors !== undefined || transfer === undefined)
    throw new Error(`${name}: ${JSON.stringify(answer.errors)}`);
  return transfer;
}

async function read(id: string, who: TestKeeper): Promise<Transfer> {
  const document = `query ($id: ID!) { ${TRANSFER.replace('transfer', 'transfer(id: $id)')} }`;
  return (await test.get<{ transfer: Transfer }>(document, { id }, who.token)).transfer;
}

const offerOf = (animalIds: string[], to = borrower, terms: object = {}) => ({
  fromKeeperId: lender.keeperId,
  toKeeperId: to.keeperId,
  kind: 'breeding_loan',
  dueBack: '2026-09-01',
  loanTerms: TERMS,
  items: animalIds.map((animalId) => ({ animalId })),
  ...terms,
});

/** A loan of an animal, received on the day. */
async function lent(terms: object = {}): Promise<{ animalId: string; transferId: string }> {
  const animalId = await world.animal(lender, taxon);
  const { id: transferId } = await done('offerTransfer', offerOf([animalId], borrower, terms), lender);
  await done('acceptTransfer', { transferId }, borrower);
  await done('sendTransfer', { transferId, sentOn: '2026-06-01' }, lender);
  const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
  await done('receiveTransfer', { transferId, receivedOn: '2026-06-01', items }, borrower);
  return { animalId, transferId };
}

const openAsk = ({ loan }: Transfer): string | undefined => loan?.days.find(({ outcome }) => outcome === null)?.id;

describe('a loan, through the API', () => {
  it('both sides read its terms; a helper reads no amount', async () => {
    const { transferId } = await lent();
    for (const who of [lender, borrower]) expect((await read(transferId, who)).loanTerms).toEqual(TERMS);
    expect((await read(transferId, helper)).loanTerms).toEqual({ ...TERMS, value: null });
    const own = 'query ($id: ID!) { transfer(id: $id) { id } }';
    expect((await test.ask(own, { id: transferId }, stranger.token)).errors?.[0]?.extensions).toMatchObject({
      code: 'NOT_FOUND',
    });
  });

  it('has no loan before it was accepted, and terms that do not fit are refused by field', async () => {
    const offered = await done('offerTransfer', offerOf([await world.animal(lender, taxon)]), lender);
    expect(offered).toMatchObject({ loanTerms: TERMS, loan: null });
    const bad = offerOf([await world.animal(lender, taxon)], borrower, { loanTerms: { onDeath: 'value_due' } });
    expect((await send('offerTransfer', bad, lender)).errors?.[0]?.extensions).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'input.loanTerms.value' }],
    });
  });

  it('the day is asked for, agreed to and called back; what it was stays known', async () => {
    const { transferId } = await lent();
    const asked = await done('askLoanExtension', { transferId, dueBack: '2026-10-01' }, borrower);
    expect(asked.loan).toMatchObject({
      state: 'open',
      dueBack: '2026-09-01',
      out: 1,
      viewerCan: { ask: false, answer: false, withdraw: true, recall: false },
    });
    const extensionId = openAsk(asked);
    expect((await read(transferId, lender)).loan?.viewerCan).toEqual({
      ask: false,
      answer: true,
      withdraw: false,
      recall: true,
    });
    await done('answerLoanExtension', { extensionId, agree: true }, lender);
    test.setDay('2026-06-02');
    const recalled = await done('recallLoan', { transferId, dueBack: '2026-06-16' }, lender);
    expect(recalled).toMatchObject({
      dueBack: '2026-06-16',
      loan: { before: '2026-10-01', none: null, days: [{ outcome: 'agreed' }, { outcome: 'recalled' }] },
    });
    test.setDay('2026-06-17');
    expect((await read(transferId, borrower)).loan).toMatchObject({ state: 'overdue', out: 1 });
    test.setDay('2026-06-01');
  });

  it('a death stands beside what is due by the terms; the helper reads no amount there either', async () => {
    const { animalId, transferId } = await lent();
    await test.get(
      `mutation ($input: RecordDeathInput!) { recordDeath(input: $input) { __typename } }`,
      { input: { animalId, when: '2026-06-01', cause: 'unknown' } },
      borrower.token,
    );
    const death = { animalId, on: '2026-06-01', count: 1, due: 'value_due' };
    expect((await read(transferId, lender)).loan).toMatchObject({
      state: 'over',
      deaths: [{ ...death, value: TERMS.value }],
    });
    expect((await read(transferId, helper)).loan?.deaths).toEqual([{ ...death, value: null }]);
  });

  it('what is due for many is told in full, however much it comes to', async () => {
    const lotId = await world.lot(lender, taxon, 3, { since: '2026-01-05' });
    const value = { minor: 2_147_483_647, currency: 'JPY' };
    const terms = { items: [{ animalId: lotId }], loanTerms: { ...TERMS, value } };
    const { id } = await done('offerTransfer', offerOf([lotId], borrower, terms), lender);
    await done('acceptTransfer', { transferId: id }, borrower);
    await done('sendTransfer', { transferId: id, sentOn: '2026-06-01' }, lender);
    const items = [{ animalId: lotId, arrivals: [{ state: 'well', count: 3 }] }];
    await done('receiveTransfer', { transferId: id, receivedOn: '2026-06-01', items }, borrower);
    test.setDay('2026-06-02');
    await test.get(
      `mutation ($input: LoseFromLotInput!) { loseFromLot(input: $input) { __typename } }`,
      { input: { lotId, count: 2, cause: 'died' } },
      borrower.token,
    );
    test.setDay('2026-06-01');
    expect((await read(id, lender)).loan?.deaths).toMatchObject([
      { count: 2, value: { minor: 4_294_967_294, currency: 'JPY' } },
    ]);
  });

  it('a stranger finds nothing, whatever it asks, and neither does who asks with an id of nothing', async () => {
    const { transferId } = await lent();
    const extensionId = openAsk(await done('askLoanExtension', { transferId, dueBack: '2026-10-01' }, borrower));
    const nothing = '018f0000-0000-7000-8000-000000000000';
    const texts = new Set<string | undefined>();
    for (const attempt of [
      await send('askLoanExtension', { transferId, dueBack: '2026-10-02' }, stranger),
      await send('recallLoan', { transferId, dueBack: '2026-06-15' }, stranger),
      await send('answerLoanExtension', { extensionId, agree: true }, stranger),
      await send('withdrawLoanExtension', { extensionId }, stranger),
      await send('answerLoanExtension', { extensionId: nothing, agree: true }, borrower),
      await send('withdrawLoanExtension', { extensionId: nothing }, stranger),
    ]) {
      expect(attempt.errors?.[0]?.extensions).toMatchObject({ code: 'NOT_FOUND' });
      texts.add(attempt.errors?.[0]?.message);
    }
    expect(texts.size).toBe(1);
    const mine = 'query ($k: ID!) { myLoans(keeperId: $k) { edges { node { state } } } }';
    expect((await test.ask(mine, { k: lender.keeperId }, stranger.token)).errors?.[0]?.extensions).toMatchObject({
      code: 'NOT_FOUND',
    });
  });

  it('of a minor, its guardian agrees to another day', async () => {
    const minors = new MinorWorld(test);
    const minor = await minors.minor();
    const { guardian } = minor;
    const animalId = await world.animal(lender, taxon);
    const { id: transferId } = await done('offerTransfer', offerOf([animalId], minor), lender);
    await done('acceptTransfer', { transferId }, minor);
    await done('askLoanExtension', { transferId, dueBack: '2026-10-01' }, lender);
    const extensionId = openAsk(await read(transferId, lender));
    expect(
      (await send('answerLoanExtension', { extensionId, agree: true }, minor)).errors?.[0]?.extensions,
    ).toMatchObject({ rule: 'GUARDIAN_SPEAKS' });
    const can = async (who: TestKeeper) => (await read(transferId, who)).loan?.viewerCan;
    expect([await can(minor), await can(guardian)]).toMatchObject([{ answer: false }, { answer: true }]);
    expect((await done('answerLoanExtension', { extensionId, agree: true }, guardian)).dueBack).toBe('2026-10-01');
    expect([await can(minor), await can(guardian)]).toMatchObject([{ ask: false }, { ask: true }]);
  });
});

describe('loans of a keeper', () => {
  const MINE = `query ($k: ID!, $s: [LoanState!], $n: Int, $a: String) { myLoans(keeperId: $k, states: $s, first: $n, after: $a) {
    edges { node { state dueBack out transfer { id } } } pageInfo { hasNextPage endCursor } } }`;
  type Page = {
    myLoans: {
      edges: { node: { state: string; dueBack: string; transfer: { id: string } } }[];
      pageInfo: { hasNextPage: boolean; endCursor: string | null };
    };
  };

  it('are paged through in the order they are due, given and taken, with as many statements for ten as for two', async () => {
    const [own, other] = [lender, borrower];
    [lender, borrower] = [await world.keeper('One'), await world.keeper('Two')];
    const count = async (first: number) => {
      const page = () => test.get<Page>(MINE, { k: borrower.keeperId, n: first }, borrower.token);
      await page();
      return (await statementsOf(page)).length;
    };
    const days = ['2026-08-02', '2026-08-01', '2026-08-02', '2026-07-01'];
    for (const dueBack of days) await lent({ dueBack });
    const few = await count(2);
    for (let i = 0; i < 6; i += 1) await lent();
    expect(await count(10)).toBe(few);
    const seen: string[] = [];
    let after: string | null = null;
    for (let page = 0; page < 10; page += 1) {
      const { myLoans }: Page = await test.get<Page>(MINE, { k: lender.keeperId, n: 3, a: after }, lender.token);
      seen.push(...myLoans.edges.map(({ node }) => node.dueBack));
      after = myLoans.pageInfo.endCursor;
      if (!myLoans.pageInfo.hasNextPage) break;
    }
    expect(seen).toEqual([...days.toSorted(), ...Array.from({ length: 6 }, () => '2026-09-01')]);
    test.setDay('2026-08-02');
    const late = await test.get<Page>(MINE, { k: borrower.keeperId, s: ['overdue'] }, borrower.token);
    expect(late.myLoans.edges.map(({ node }) => node.dueBack)).toEqual(['2026-07-01', '2026-08-01']);
    test.setDay('2026-06-01');
    [lender, borrower] = [own, other];
  });
});

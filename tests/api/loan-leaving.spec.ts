import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { exportDocument } from '../../libs/exchange/index.js';
import { type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';
import { ruleOf, YoungWorld } from '../support/young-world.js';

/** What of a loan keeps its sides from being forgotten, and what each takes along of it. */

let server: TestApp;
let world: YoungWorld;
let taxonId: string;

beforeAll(async () => {
  server = await startTestApp();
  world = new YoungWorld(server);
  taxonId = await world.breeding.taxon();
});
afterAll(async () => {
  await world.close();
  await server.close();
});
beforeEach(() => server.setDay('2026-06-10'));

const sides = async (): Promise<[TestKeeper, TestKeeper]> => [
  await world.keeper('Lender'),
  await world.keeper('Borrower'),
];

const forget = (who: TestKeeper) => world.send('forgetMe', { password: 'a long enough password' }, who, '__typename');

const blockers = (answer: Answer<unknown>): string[] =>
  (answer.errors?.[0]?.extensions.blockers ?? []).map(({ kind, id }) => `${kind} ${id}`).sort();

describe('who leaves while a loan is open', () => {
  it('is not forgotten on either side while something of it is owed, also where it is lost', async () => {
    const [lender, borrower] = await sides();
    const { loan, dam, sire } = await world.lent(lender, borrower, taxonId);
    await world.done('recordDeath', { animalId: sire, on: '2026-06-10' }, borrower, 'animal { id }');
    const owed = [`animal ${dam}`, `transfer ${loan}`].sort();
    for (const who of [lender, borrower]) expect(blockers(await forget(who))).toEqual(owed);
    const missing = { animalId: dam, fate: 'missing', when: '2026-06-09' };
    await world.done('recordFate', missing, borrower, 'animal { id }');
    for (const who of [lender, borrower]) expect(blockers(await forget(who))).toEqual([`transfer ${loan}`]);
    await world.done('recordDeath', { animalId: dam, on: '2026-06-10' }, borrower, 'animal { id }');
    for (const who of [borrower, lender]) expect(ruleOf(await forget(who))).toBeUndefined();
  });

  it('is told of young that wait to be picked, wherever they are', async () => {
    const [lender, borrower] = await sides();
    const { loan, dam, sire } = await world.lent(lender, borrower, taxonId);
    const clutchId = await world.clutchOf(dam, borrower);
    const [young = ''] = await world.hatch(clutchId, borrower, 1);
    for (const animalId of [dam, sire])
      await world.done('recordDeath', { animalId, on: '2026-06-10' }, borrower, 'animal { id }');
    const waits = [`animal ${young}`, `clutch ${clutchId}`];
    for (const who of [lender, borrower]) expect(blockers(await forget(who))).toEqual(waits);
    expect(ruleOf(await world.pick(loan, clutchId, lender, young))).toBeUndefined();
    expect(blockers(await forget(borrower))).toEqual([`animal ${young}`]);
  });
});

describe('the export of what is one’s own', () => {
  it('tells both sides the terms, the days asked for, the clutches, and who picked which', async () => {
    const [lender, borrower] = await sides();
    const youngSplit = { method: 'by_turns', lenderParts: 1, ofParts: 3, firstPick: 'borrower', oddOne: 'paid_out' };
    const value = { minor: 12_300, currency: 'EUR' };
    const terms = { recallDays: 14, onDeath: 'value_due', value, youngSplit, youngBredBy: 'lender' };
    const { loan, dam } = await world.lent(lender, borrower, taxonId, terms);
    await world.done('askLoanExtension', { transferId: loan, dueBack: '2027-03-01' }, borrower, 'transfer { id }');
    const clutchId = await world.clutchOf(dam, borrower);
    const [a = '', b = ''] = await world.hatch(clutchId, borrower, 2);
    expect(ruleOf(await world.pick(loan, clutchId, borrower, a))).toBeUndefined();
    const numbers = await world.db.animal.findMany({ where: { id: { in: [a, b] } }, orderBy: { id: 'asc' } });
    for (const who of [lender, borrower]) {
      const { exportMyData } = await server.get<{ exportMyData: { json: string } }>(
        'query ($k: ID!) { exportMyData(keeperId: $k) { json } }',
        { k: who.keeperId },
        who.token,
      );
      const document = exportDocument.parse(JSON.parse(exportMyData.json));
      expect(document.transfers.find(({ id }) => id === loan)).toMatchObject({
        loanTerms: {
          recallDays: 14,
          onDeath: 'value_due',
          value: { minor: '12300' },
          youngSplit,
          youngBredBy: 'lender',
        },
        loanDays: [{ askedBy: 'borrower', dueBack: '2027-03-01', dueBackBefore: '2026-12-31', outcome: null }],
        loanClutches: [
          {
            number: 1,
            young: numbers.map(({ id }) =>
              id === a
                ? { pickedBy: 'borrower', pickNumber: 1, pickedAt: expect.any(String) }
                : { pickedBy: null, pickNumber: null, pickedAt: null },
            ),
          },
        ],
      });
    }
  });
});

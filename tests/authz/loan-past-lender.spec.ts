import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';
import { YoungWorld } from '../support/young-world.js';

let test: TestApp;
let world: YoungWorld;
beforeAll(async () => {
  test = await startTestApp();
  world = new YoungWorld(test);
});
afterAll(async () => {
  test.setDay(null);
  await world.close();
  await test.close();
});

const LOAN = 'loan { state out deaths { animalId } viewerCan { ask recall } }';

/** Claims the whole of an animal. */
async function claim(animalId: string, by: TestKeeper): Promise<string> {
  const input = {
    keeperId: by.keeperId,
    animalId,
    share: { parts: 1, of: 1 },
    since: '2026-01-01',
    statement: 'Mine.',
  };
  const made = await world.done<{ claim: { id: string } }>('claimOwnership', input, by, 'claim { id }');
  return made.claim.id;
}

it('a lender whom a claim has cost the animal reads nothing of what became of it, neither a dispute nor a death', async () => {
  const [first, second] = [await world.keeper('First'), await world.keeper('Second')];
  const [lender, borrower] = [await world.keeper('Lender'), await world.keeper('Borrower')];
  test.setDay('2026-01-01');
  const animalId = await world.animal(first, await world.taxon());
  await world.handOver(animalId, first, second, '2026-01-02', { kind: 'gift' });
  await world.handOver(animalId, second, lender, '2026-01-03', { kind: 'gift' });
  const terms = { kind: 'breeding_loan', dueBack: '2026-06-12', loanTerms: { recallDays: 0 } };
  const transferId = await world.handOver(animalId, lender, borrower, '2026-02-01', terms);
  const read = async (who: TestKeeper) => {
    const { transfer } = await test.get<{ transfer: { loan: { state: string; out: number } } }>(
      `query ($id: ID!) { transfer(id: $id) { ${LOAN} } }`,
      { id: transferId },
      who.token,
    );
    return transfer.loan;
  };
  expect(await read(lender)).toMatchObject({ state: 'open', out: 1 });
  const settled = await claim(animalId, second);
  // While both statements stand, the loan does.
  expect(await read(lender)).toMatchObject({ state: 'open', out: 1 });
  const shares = [
    { party: 1, parts: 1 },
    { party: 2, parts: 0 },
  ];
  const proposed = await world.done<{ claim: { proposal: number } }>(
    'proposeShares',
    { claimId: settled, shares },
    lender,
    'claim { proposal }',
  );
  const agreement = { claimId: settled, proposal: proposed.claim.proposal };
  await world.done('agreeToShares', agreement, second, 'claim { id }');
  const over = await read(lender);
  expect(over).toMatchObject({ state: 'over', out: 0 });
  await claim(animalId, first);
  expect(await read(lender)).toEqual(over);
  await world.done('recordDeath', { animalId, when: '2026-02-01' }, borrower, 'animal { id }');
  expect(await read(lender)).toEqual(over);
});

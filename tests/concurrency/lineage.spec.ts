import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { RecordParent } from '../../libs/lineage/claims/record-parent.js';
import { type Party, holdRow, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let keeper: Party;
let record: RecordParent;
beforeAll(async () => {
  w = await transferWorld();
  keeper = await w.party('Keeper');
  record = new RecordParent(w.uow);
});
afterAll(() => w.close());

const claim = (animalId: string, ...parentIds: string[]) =>
  record.execute(keeper.viewer, {
    animalId,
    role: 'dam',
    basis: 'declared',
    candidates: parentIds.map((parentId) => ({ parentId, probability: 1 / parentIds.length })),
    withoutSire: false,
    evidence: null,
    when: null,
    reason: 'A test.',
    pathOf: () => 'input.parentId',
  });

/** The writers have different animals locked by then; the pedigree of the taxon is what must keep them apart. */
async function holdPedigree() {
  const { id } = await w.client.lineagePopulation.findUniqueOrThrow({ where: { taxonId: w.taxonId } });
  return holdRow(w.url, 'lineage_population', id);
}

/** Steps child → parent in force among these animals. */
function steps(...ids: string[]): Promise<number> {
  return w.client.parentageClaim.count({ where: { childId: { in: ids }, supersededAt: null } });
}

it.each([1, 2, 3])('two claims that would close a cycle together: one is refused (%i)', async () => {
  const [a, b] = [await w.animal(keeper), await w.animal(keeper)];
  const barrier = await holdPedigree();
  const both = Promise.allSettled([claim(a, b), claim(b, a)]);
  await barrier.releaseWhenWaiting(2);
  const refused = (await both).filter((one) => one.status === 'rejected');
  expect(refused.map(({ reason }) => (reason as { rule?: string }).rule)).toEqual(['LINEAGE_CYCLE']);
  expect(await steps(a, b)).toBe(1);
});

it('three claims that would close a ring of three: two of them are recorded', async () => {
  const [a, b, c] = [await w.animal(keeper), await w.animal(keeper), await w.animal(keeper)];
  const barrier = await holdPedigree();
  const all = Promise.allSettled([claim(a, b), claim(b, c), claim(c, a)]);
  await barrier.releaseWhenWaiting(2);
  const refused = (await all).filter((one) => one.status === 'rejected');
  expect(refused.map(({ reason }) => (reason as { rule?: string }).rule)).toEqual(['LINEAGE_CYCLE']);
  expect(await steps(a, b, c)).toBe(2);
});

it('two claims that would close a cycle through one of several candidates: one is refused', async () => {
  const [a, b, c] = [await w.animal(keeper), await w.animal(keeper), await w.animal(keeper)];
  const barrier = await holdPedigree();
  const both = Promise.allSettled([claim(a, b, c), claim(b, c, a)]);
  await barrier.releaseWhenWaiting(2);
  const refused = (await both).filter((one) => one.status === 'rejected');
  expect(refused.map(({ reason }) => (reason as { rule?: string }).rule)).toEqual(['LINEAGE_CYCLE']);
  expect(await steps(a, b)).toBe(1);
});

it('two claims on the same parent of one animal: both recorded one after the other, one in force', async () => {
  const [child, one, two] = [await w.animal(keeper), await w.animal(keeper), await w.animal(keeper)];
  const barrier = await holdRow(w.url, 'animal', child);
  const both = Promise.all([claim(child, one), claim(child, two)]);
  await barrier.releaseWhenWaiting(2);
  await both;
  expect(await steps(child)).toBe(1);
  expect(await w.client.parentageClaim.count({ where: { childId: child } })).toBe(2);
});

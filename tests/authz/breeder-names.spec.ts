import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { BreedingWorld } from '../support/breeding-world.js';
import { endQuarantine } from '../support/end-quarantine.js';
import { handOver } from '../support/hand-over.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

type Told = { breeders: { keeperId: string | null; sure: string; why: string[] }[] | null };

let test: TestApp;
let world: RegistryWorld;
let breeding: BreedingWorld;
let taxon: string;
let source: TestKeeper;
let dealer: TestKeeper;
let buyer: TestKeeper;
let accomplice: TestKeeper;
/** Had by `source` until 2025-06-01, by `dealer` until 2026-03-01, by `buyer` since. */
let dam: string;

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  breeding = new BreedingWorld(test, world);
  // How long sperm is stored is not known of the taxon: any earlier mating can have led to a clutch.
  taxon = await breeding.taxon({ reproduction: { value: 'egg_laying', source: 'invented' } });
  [source, dealer] = [await world.keeper('source'), await world.keeper('dealer')];
  [buyer, accomplice] = [await world.keeper('buyer'), await world.keeper('accomplice')];
  test.setDay('2025-01-01');
  dam = await world.animal(source, taxon, { sex: 'female', birth: { edtf: '2020-05-01', manner: 'hatched' } });
  await give(dam, source, dealer, '2025-06-01');
  await give(dam, dealer, buyer, '2026-03-01');
});
afterAll(async () => {
  test.setDay(null);
  await world.close();
  await test.close();
});

async function give(animalId: string, from: TestKeeper, to: TestKeeper, on: string, more: object = {}): Promise<void> {
  const items = { items: [{ animalId, arrivals: [{ state: 'well', count: 1 }] }] };
  await handOver(test, [from, to], on, { items: [{ animalId }], ...more }, items);
  await endQuarantine(world.db, animalId, on);
}

async function clutch(by: TestKeeper, laid: string, eggCount = 2, of = dam): Promise<string> {
  return (await breeding.do(by, 'recordClutch', { damId: of, laid, eggCount, separateClutch: true })).clutch.id;
}

/** Everybody who is named on a clutch and on its young. */
async function named(clutchId: string, who: TestKeeper): Promise<(string | null)[]> {
  const query = `query ($id: ID!) { clutch(id: $id) {
    breeders { keeperId sure why } hatchings { edges { node { breeders { keeperId sure why } } } } } }`;
  const { clutch: read } = await test.get<{ clutch: Told & { hatchings: { edges: { node: Told }[] } } }>(
    query,
    { id: clutchId },
    who.token,
  );
  const all = [read, ...read.hatchings.edges.map(({ node }) => node)];
  return [...new Set(all.flatMap(({ breeders }) => breeders ?? []).map(({ keeperId }) => keeperId))];
}

describe('who had a dam before whoever one has her from', () => {
  it('a clutch that is said to be laid then does not tell', async () => {
    test.setDay('2026-05-01');
    expect(await named(await clutch(buyer, '2025-03-01'), buyer)).toEqual([null]);
    // With whom one dealt over her one knows.
    expect(await named(await clutch(buyer, '2025-10-01'), buyer)).toEqual([dealer.keeperId]);
  });

  it('nor does a mating that is said to be seen then', async () => {
    test.setDay('2026-05-01');
    await breeding.do(buyer, 'recordMating', { damId: dam, when: '2025-02-01' });
    expect(await named(await clutch(buyer, '2026-05-01'), buyer)).toEqual([null]);
  });

  it('nor do the young of such a clutch, to its keeper or to another with whom they are said to hatch', async () => {
    test.setDay('2026-05-02');
    const clutchId = await clutch(buyer, '2025-03-02');
    await breeding.do(buyer, 'recordHatchlings', { clutchId, when: '2026-05-02', young: [{ eggNumber: 1 }] });
    expect(await named(clutchId, buyer)).toEqual([null]);
    const eggs = [{ clutchId, numbers: [2] }];
    await handOver(test, [buyer, accomplice], '2026-05-02', { eggs }, { eggs: [{ ...eggs[0], state: 'well' }] });
    await breeding.do(accomplice, 'recordHatchlings', { clutchId, when: '2026-05-02', young: [{ eggNumber: 2 }] });
    expect(await named(clutchId, accomplice)).toEqual([null]);
  });

  it('a borrower is not told whom the lender has her from', async () => {
    const hers = await world.animal(source, taxon, { sex: 'female', birth: { edtf: '2020-05-01', manner: 'hatched' } });
    await give(hers, source, dealer, '2026-05-03');
    await give(hers, dealer, accomplice, '2026-05-05', { kind: 'breeding_loan', dueBack: '2026-12-01' });
    expect(await named(await clutch(accomplice, '2026-05-05', 2, hers), accomplice)).toEqual([dealer.keeperId]);
    await breeding.do(accomplice, 'recordMating', { damId: hers, when: '2026-05-02' });
    expect(await named(await clutch(accomplice, '2026-05-05', 2, hers), accomplice)).toEqual([null]);
  });
});

it('with whom young hatched reads who bred them as it was known when they left', async () => {
  test.setDay('2026-05-06');
  const hers = await world.animal(dealer, taxon, { sex: 'female', birth: { edtf: '2020-05-01', manner: 'hatched' } });
  const clutchId = await clutch(dealer, '2026-05-06', 1, hers);
  const eggs = [{ clutchId, numbers: [1] }];
  await handOver(test, [dealer, buyer], '2026-05-07', { eggs }, { eggs: [{ ...eggs[0], state: 'well' }] });
  const hatched = { clutchId, when: '2026-05-08', young: [{ eggNumber: 1 }] };
  test.setDay('2026-05-08');
  const [young] = (await breeding.do(buyer, 'recordHatchlings', hatched)).young;
  const why = async (): Promise<string[][]> => {
    const query = `query ($id: ID!) { clutch(id: $id) { hatchings { edges { node { breeders { keeperId sure why } } } } } }`;
    type Read = { clutch: { hatchings: { edges: { node: Told }[] } } };
    const { clutch: read } = await test.get<Read>(query, { id: clutchId }, buyer.token);
    return read.hatchings.edges.flatMap(({ node }) => (node.breeders ?? []).map((breeder) => breeder.why));
  };
  expect(await why()).toEqual([['owner_at_laying']]);
  await give(young?.id ?? '', buyer, accomplice, '2026-05-09');
  test.setDay('2026-05-10');
  await breeding.do(dealer, 'recordMating', { damId: hers, when: '2026-05-06' });
  expect(await why()).toEqual([['owner_at_laying']]);
  expect(await named(clutchId, dealer)).toEqual([dealer.keeperId]);
});

import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { BreedingWorld } from '../support/breeding-world.js';
import { endQuarantine } from '../support/end-quarantine.js';
import { handOver } from '../support/hand-over.js';
import { statementsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

type Breeder = { keeperId: string | null; outsideName: string | null; sure: string; why: string[] };
type Told = { breeders: Breeder[] | null };
type Clutch = Told & { id: string; hatchings: { edges: { node: Told }[] } };

const BREEDERS = 'breeders { keeperId outsideName sure why }';
const CLUTCH = `id ${BREEDERS} hatchings { edges { node { ${BREEDERS} } } }`;

let test: TestApp;
let world: RegistryWorld;
let breeding: BreedingWorld;
let taxon: string;
let odile: TestKeeper;
let bram: TestKeeper;
let rosa: TestKeeper;
let stranger: TestKeeper;
/** Keepers by name, as the answers are compared. */
const names = new Map<string, string>();

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  breeding = new BreedingWorld(test, world);
  taxon = await breeding.taxon();
  const made: TestKeeper[] = [];
  for (const name of ['odile', 'bram', 'rosa', 'stranger']) {
    const keeper = await world.keeper(name);
    names.set(keeper.keeperId, name);
    made.push(keeper);
  }
  [odile, bram, rosa, stranger] = made as [TestKeeper, TestKeeper, TestKeeper, TestKeeper];
});
afterAll(async () => {
  test.setDay(null);
  await world.close();
  await test.close();
});

async function give(animalId: string, from: TestKeeper, to: TestKeeper, on: string, more: object = {}): Promise<void> {
  const { item = {}, ...terms } = more as { item?: object };
  const offer = { items: [{ animalId, ...item }], ...terms };
  await handOver(test, [from, to], on, offer, { items: [{ animalId, arrivals: [{ state: 'well', count: 1 }] }] });
  await endQuarantine(world.db, animalId, on);
}

const LOAN = { kind: 'breeding_loan', dueBack: '2026-12-01' };

/** A grown female that is somebody's since 2025. */
async function female(of: TestKeeper): Promise<string> {
  test.setDay('2025-01-01');
  return world.animal(of, taxon, { sex: 'female', birth: { edtf: '2020-05-01', manner: 'hatched' } });
}

/** Records a mating on its day, or on a later one. */
async function mate(damId: string, by: TestKeeper, when: string, recordedOn = when): Promise<string> {
  test.setDay(recordedOn);
  return (await breeding.do(by, 'recordMating', { damId, when })).mating.id;
}

/** A clutch laid on 2026-05-01 and recorded at once. */
async function clutchOf(by: TestKeeper, dams: object): Promise<string> {
  test.setDay('2026-05-01');
  return (await breeding.do(by, 'recordClutch', { laid: '2026-05-01', eggCount: 2, ...dams })).clutch.id;
}

const inWords = (told: Breeder[] | null | undefined): string[] | null =>
  told?.map(({ keeperId, outsideName, sure, why }) =>
    [names.get(keeperId ?? '') ?? outsideName ?? '-', sure, ...why].join(' '),
  ) ?? null;

async function clutchRead(id: string, who: TestKeeper): Promise<Clutch | null> {
  const query = `query ($id: ID!) { clutch(id: $id) { ${CLUTCH} } }`;
  const { data, errors } = await test.ask<{ clutch: Clutch }>(query, { id }, who.token);
  return errors === undefined ? (data?.clutch ?? null) : null;
}

const breeders = async (clutchId: string, who: TestKeeper) => inWords((await clutchRead(clutchId, who))?.breeders);

/** What the clutches of a dam say, read through her record. */
async function throughDam(damId: string, who: TestKeeper): Promise<(string[] | null)[]> {
  const query = `query ($id: ID!) { animal(id: $id) { clutches { edges { node { ${CLUTCH} } } } } }`;
  const { data } = await test.ask<{ animal: { clutches: { edges: { node: Clutch }[] } | null } | null }>(
    query,
    { id: damId },
    who.token,
  );
  return (data?.animal?.clutches?.edges ?? []).map(({ node }) => inWords(node.breeders));
}

describe('a dam on loan', () => {
  let dam: string;
  let clutchId: string;

  it('her owner bred the young, though she is mated and they hatch at the borrower’s', async () => {
    dam = await female(odile);
    await give(dam, odile, bram, '2026-03-01', LOAN);
    await mate(dam, bram, '2026-04-01');
    clutchId = await clutchOf(bram, { damId: dam });
    test.setDay('2026-07-01');
    const young = [{ eggNumber: 1 }];
    const { id } =
      (await breeding.do(bram, 'recordHatchlings', { clutchId, when: '2026-07-01', young })).young[0] ?? {};
    const read = await clutchRead(clutchId, bram);
    expect(inWords(read?.breeders)).toEqual(['odile yes owner_at_mating']);
    expect(read?.hatchings.edges.map(({ node }) => inWords(node.breeders))).toEqual([['odile yes owner_at_mating']]);
    const { animal } = await test.get<{ animal: { hatching: Told } }>(
      `query ($id: ID!) { animal(id: $id) { hatching { ${BREEDERS} } } }`,
      { id },
      bram.token,
    );
    expect(inWords(animal.hatching.breeders)).toEqual(['odile yes owner_at_mating']);
  });

  it('the owner reads of herself through her dam; a stranger finds no clutch', async () => {
    expect(await throughDam(dam, odile)).toEqual([['odile yes owner_at_mating']]);
    expect(await clutchRead(clutchId, stranger)).toBeNull();
  });

  it('whom the borrower gives an egg is not told whose the dam is, until it has hatched there', async () => {
    test.setDay('2026-07-01');
    const eggs = { eggs: [{ clutchId, numbers: [2] }] };
    await handOver(test, [bram, rosa], '2026-07-01', eggs, { eggs: [{ clutchId, numbers: [2], state: 'well' }] });
    expect(await breeders(clutchId, rosa)).toEqual(['- yes owner_at_mating']);
    await breeding.do(rosa, 'recordHatchlings', { clutchId, when: '2026-07-01', young: [{ eggNumber: 2 }] });
    const read = await clutchRead(clutchId, rosa);
    expect(inWords(read?.breeders)).toEqual(['- yes owner_at_mating']);
    expect(read?.hatchings.edges.map(({ node }) => inWords(node.breeders))).toContainEqual([
      'odile yes owner_at_mating',
    ]);
  });
});

it.each([
  [null, ['odile yes owner_at_mating']],
  ['lender', ['odile yes agreed']],
  ['borrower', ['bram yes agreed']],
  ['both', ['bram yes agreed', 'odile yes agreed']],
])('terms of a loan that say %s, of what is mated at the borrower’s', async (youngBredBy, told) => {
  const dam = await female(odile);
  await give(dam, odile, bram, '2026-03-01', { ...LOAN, loanTerms: { youngBredBy } });
  await mate(dam, bram, '2026-04-01');
  const clutchId = await clutchOf(bram, { damId: dam });
  expect((await breeders(clutchId, bram))?.toSorted()).toEqual(told);
});

describe('a dam that changes owners', () => {
  it('sold gravid: her former owner bred the young; without the mating the days of laying count, and it says so', async () => {
    const dam = await female(odile);
    const mating = await mate(dam, odile, '2026-03-20');
    await give(dam, odile, bram, '2026-04-10', {
      kind: 'sale',
      price: { minor: 5000, currency: 'EUR' },
      item: { gravid: true },
    });
    const clutchId = await clutchOf(bram, { damId: dam });
    expect(await breeders(clutchId, bram)).toEqual(['odile yes owner_at_mating']);
    await world.db.mating.updateMany({
      where: { id: mating },
      data: { supersededAt: new Date('2026-05-01T12:00:00Z') },
    });
    expect(await breeders(clutchId, bram)).toEqual(['bram possible owner_at_laying owner_varies']);
  });

  it('co-owners bred it together', async () => {
    const dam = await female(odile);
    await give(dam, odile, bram, '2025-06-01', { item: { share: { parts: 1, of: 2 } } });
    await mate(dam, bram, '2026-04-01');
    const clutchId = await clutchOf(bram, { damId: dam });
    const read = await breeders(clutchId, bram);
    expect(read?.toSorted()).toEqual(['bram yes owner_at_mating', 'odile yes owner_at_mating']);
  });

  it('a past owner goes on reading what was known at the hand-over; a later owner who had no part is told nothing', async () => {
    const dam = await female(odile);
    const clutchId = await clutchOf(odile, { damId: dam });
    await give(dam, odile, bram, '2026-05-02');
    await mate(dam, bram, '2026-04-01', '2026-05-03');
    expect(await throughDam(dam, odile)).toEqual([['odile yes owner_at_laying']]);
    expect(await throughDam(dam, bram)).toEqual([null]);
    expect(await breeders(clutchId, odile)).toEqual(['odile yes owner_at_mating']);
  });

  it('ownership that was corrected away does not count', async () => {
    const dam = await female(odile);
    const clutchId = await clutchOf(odile, { damId: dam });
    const [period] = await world.db.ownership.findMany({ where: { animalId: dam } });
    await world.db.ownership.update({
      where: { id: period?.id ?? '' },
      data: { supersededAt: new Date('2026-05-01T12:00:00Z') },
    });
    expect(await breeders(clutchId, odile)).toEqual(['- possible owner_at_laying owner_unknown']);
  });
});

it('one of two dams of two owners: both are possible, and neither is told the other’s name', async () => {
  const [hers, his] = [await female(odile), await female(rosa)];
  await give(hers, odile, bram, '2025-06-01', LOAN);
  await give(his, rosa, bram, '2025-06-01', LOAN);
  const damCandidates = [hers, his].map((parentId) => ({ parentId, probability: 0.5 }));
  const clutchId = await clutchOf(bram, { damCandidates });
  const both = ['odile possible owner_at_laying several_dams', 'rosa possible owner_at_laying several_dams'];
  expect((await breeders(clutchId, bram))?.toSorted()).toEqual(both);
  const own = (await throughDam(hers, odile))[0]?.toSorted();
  expect(own).toEqual(['- possible owner_at_laying several_dams', both[0]]);
});

it('somebody without an account is named to who recorded them, and to nobody else', async () => {
  const dam = await female(odile);
  await give(dam, odile, bram, '2025-06-01', LOAN);
  const outside = { id: uuid(), recordedFor: bram.keeperId, name: 'Aunt Ida', createdAt: new Date() };
  await world.db.outsideParty.create({ data: outside });
  const share = { keeperId: null, outsidePartyId: outside.id };
  await world.db.ownershipShare.updateMany({ where: { ownership: { animalId: dam } }, data: share });
  const clutchId = await clutchOf(bram, { damId: dam });
  expect(await breeders(clutchId, bram)).toEqual(['Aunt Ida yes owner_at_laying']);
  await world.db.outsideParty.update({ where: { id: outside.id }, data: { recordedFor: odile.keeperId } });
  expect(await breeders(clutchId, bram)).toEqual(['- yes owner_at_laying']);
});

it('two records of one dam count as one until the merge is undone', async () => {
  const [kept, merged] = [await female(bram), await female(bram)];
  await mate(merged, bram, '2026-04-01');
  const clutchId = await clutchOf(bram, { damId: kept });
  expect(await breeders(clutchId, bram)).toEqual(['bram yes owner_at_laying']);
  const merge = (name: string, type: string, input: object) =>
    test.get(`mutation ($input: ${type}!) { ${name}(input: $input) { animal { id } } }`, { input }, bram.token);
  await merge('mergeRecords', 'MergeRecordsInput', { keepId: kept, mergeId: merged, reason: 'One animal.' });
  expect(await breeders(clutchId, bram)).toEqual(['bram yes owner_at_mating']);
  await merge('undoMerge', 'UndoMergeInput', { mergedId: merged, reason: 'Two after all.' });
  expect(await breeders(clutchId, bram)).toEqual(['bram yes owner_at_laying']);
});

it('the breeders of many clutches are read in as many statements as of one', async () => {
  const count = async (clutches: number): Promise<number> => {
    const dam = await female(odile);
    for (let month = 1; month <= clutches; month += 1) {
      test.setDay(`2026-0${month}-01`);
      await breeding.do(odile, 'recordClutch', { damId: dam, laid: `2026-0${month}-01`, separateClutch: true });
    }
    await throughDam(dam, odile);
    let read: (string[] | null)[] = [];
    const statements = await statementsOf(async () => (read = await throughDam(dam, odile)));
    expect(read).toHaveLength(clutches);
    return statements.length;
  };
  const one = await count(1);
  expect(one).toBeGreaterThan(5);
  expect(await count(6)).toBe(one);
});

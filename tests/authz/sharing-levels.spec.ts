import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { dayOf } from '../../libs/kernel/index.js';
import { readRegion } from '../support/region-query.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { DIMENSIONS, type SharingCell } from '../support/sharing-cells.js';
import { audienceOf, oracle } from '../support/sharing-oracle.js';
import { policyOf } from '../support/sharing-policy.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/**
 * What is set for everything, for a collection and for an animal, in every combination: what a club-mate and the receiver of an
 * offer are shown, and what the coordinator of the region counts.
 */

const TODAY = dayOf(new Date());
const REGION = 'DE-BY';

let test: TestApp;
let world: RegistryWorld;
let mate: TestKeeper;
let receiver: TestKeeper;
let officer: TestKeeper;
let clubId: string;
const made: { readonly cell: SharingCell; readonly animalId: string }[] = [];
const transfers: string[] = [];

/** As a club-mate has it who is nothing else to the animal; it is on offer to somebody else. */
const MATE = { role: 'owner', tie: 'none', club: 'mates', office: 'none', state: 'offered' } as const;
const asReceiver = (cell: SharingCell): SharingCell => ({ ...cell, tie: 'receiver', club: 'apart' });

const COLLECTIONS = DIMENSIONS.collection.flatMap((collection) =>
  (collection === 'none' ? (['shared'] as const) : DIMENSIONS.collectionLineage).map((collectionLineage) => ({
    collection,
    collectionLineage,
  })),
);
const ANIMALS = DIMENSIONS.animal.flatMap((animal) =>
  DIMENSIONS.animalLineage.map((animalLineage) => ({ animal, animalLineage })),
);

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  [mate, receiver, officer] = [
    await world.keeperInRows('Mate'),
    await world.keeperInRows('Receiver'),
    await world.keeperInRows('Coordinator'),
  ];
  clubId = await world.club(mate);
  await world.db.office.create({
    data: { id: uuid(), clubId, accountId: officer.accountId, region: REGION, validFrom: new Date('2025-01-01') },
  });
  const taxonId = await world.taxon();
  for (const everything of DIMENSIONS.everything)
    for (const everythingLineage of DIMENSIONS.everythingLineage)
      await fill(taxonId, { ...MATE, everything, everythingLineage });
}, 600_000);
afterAll(async () => {
  await world.close();
  await test.close();
});

const shows = (value: string): string | null => (value === 'none' || value === 'unset' ? null : value);
const withholds = (value: string): boolean => value === 'withheld';

/** A keeper who shows everything so, with an animal in each collection with each setting of its own, all of them on offer. */
async function fill(
  taxonId: string,
  of: typeof MATE & Pick<SharingCell, 'everything' | 'everythingLineage'>,
): Promise<void> {
  const keeper = await world.keeperInRows(`Holder ${of.everything} ${of.everythingLineage}`);
  const { keeperId } = keeper;
  const write = <T>(name: string, input: object, fields = '__typename'): Promise<Record<string, T>> =>
    test.get(
      `mutation ($input: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { ${fields} } }`,
      { input },
      keeper.token,
    );
  await world.db.clubMember.create({ data: { clubId, keeperId, joinedOn: new Date('2025-01-01') } });
  await world.db.keeper.update({ where: { id: keeperId }, data: { region: REGION } });
  await write('setSharing', {
    keeperId,
    holdingsShown: of.everything,
    lineageShared: of.everythingLineage === 'shared',
  });
  const mine = COLLECTIONS.flatMap((inside) => ANIMALS.map((own) => ({ ...of, ...inside, ...own })));
  const lotId = await world.lot(keeper, taxonId, mine.length);
  const ids: string[] = [];
  // Few at once, so that no call takes long on a busy machine.
  for (let i = 0; i < mine.length; i += 20) {
    const animals = mine.slice(i, i + 20).map(() => ({}));
    const raised = await write<{ animals: { id: string }[] }>('raiseFromLot', { lotId, animals }, 'animals { id }');
    ids.push(...(raised['raiseFromLot']?.animals.map(({ id }) => id) ?? []));
  }
  const all = mine.map((cell, i) => ({ cell, animalId: ids[i] ?? '' }));
  made.push(...all);
  const idsWhere = (want: Partial<SharingCell>): string[] =>
    all
      .filter(({ cell }) => Object.entries(want).every(([name, value]) => cell[name as keyof SharingCell] === value))
      .map(({ animalId }) => animalId);
  for (const each of COLLECTIONS.filter(({ collection }) => collection !== 'none')) {
    const opened = await write<{ collection: { id: string } }>(
      'openCollection',
      { keeperId, name: Object.values(each).join(' ') },
      'collection { id }',
    );
    const collectionId = opened['openCollection']?.collection.id;
    const set = { holdingsShown: shows(each.collection), lineageWithheld: withholds(each.collectionLineage) };
    await write('setCollectionSharing', { collectionId, ...set });
    await write('moveToCollection', { animalIds: idsWhere(each), collectionId });
  }
  for (const each of ANIMALS) {
    const set = { holdingsShown: shows(each.animal), lineageWithheld: withholds(each.animalLineage) };
    await write('setAnimalSharing', { animalIds: idsWhere(each), ...set });
  }
  for (let i = 0; i < ids.length; i += 50) {
    const items = ids.slice(i, i + 50).map((animalId) => ({ animalId }));
    const input = { fromKeeperId: keeperId, toKeeperId: receiver.keeperId, kind: 'gift', items };
    const offered = await write<{ transfer: { id: string } }>('offerTransfer', input, 'transfer { id }');
    transfers.push(offered['offerTransfer']?.transfer.id ?? '');
  }
}

type Seen = { id: string; viewerLevel: string; holder: object | null };
const SEEN = 'id viewerLevel holder { label }';
const toSeen = ({ viewerLevel, holder }: Seen) => ({ level: viewerLevel, holder: holder !== null });
const expectedOf = (cell: SharingCell) => ({ level: oracle(cell).level, holder: oracle(cell).holder });

it('has every combination, and a pure policy that says the same', () => {
  expect(made).toHaveLength(8 * 11 * 10);
  for (const { cell } of made)
    for (const each of [cell, asReceiver(cell)]) {
      const { level, holder } = policyOf(each);
      expect([each, { level, holder }]).toEqual([each, expectedOf(each)]);
    }
});

it('shows a club-mate lineage and holder as the three levels together say', async () => {
  const unlike: object[] = [];
  for (const { cell, animalId } of made) {
    const document = `query ($id: ID!) { animal(id: $id) { ${SEEN} } }`;
    const { data, errors } = await test.ask<{ animal: Seen }>(document, { id: animalId }, mate.token);
    const hidden = errors?.[0]?.extensions.code === 'NOT_FOUND';
    const shown = data === null ? { level: hidden ? 'none' : 'an error', holder: false } : toSeen(data.animal);
    const expected = expectedOf(cell);
    if (JSON.stringify(shown) !== JSON.stringify(expected))
      unlike.push({ cell: Object.values(cell).join(' '), shown, expected });
  }
  expect(unlike).toEqual([]);
}, 300_000);

it('shows the receiver of an offer the record, and the holder to all but nobody', async () => {
  const seen = new Map<string, Seen>();
  for (const id of transfers) {
    const document = `query ($id: ID!) { transfer(id: $id) { items { animal { ${SEEN} } } } }`;
    const { transfer } = await test.get<{ transfer: { items: { animal: Seen }[] } }>(document, { id }, receiver.token);
    for (const { animal } of transfer.items) seen.set(animal.id, animal);
  }
  for (const { cell, animalId } of made) {
    const shown = seen.get(animalId);
    expect([cell, shown && toSeen(shown)]).toEqual([cell, expectedOf(asReceiver(cell))]);
  }
}, 120_000);

it('counts for the coordinator of the region what is shown to coordinators or the club', async () => {
  const counted = made.filter(({ cell }) => ['coordinator', 'club'].includes(audienceOf(cell)));
  expect(counted.length).toBeGreaterThan(100);
  const asked = { clubId, region: REGION, since: TODAY, asOf: TODAY };
  const { total } = await readRegion(test, asked, officer.token);
  expect(total.closing).toBe(counted.length);
});

import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { registerInto } from '../../apps/pedigree/src/register-into.js';
import { describeWithReference, referencePath, referenceTable } from '../external/reference-folder.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const KEEPERS = 22;
const ANIMAL = `query ($id: ID!) { animal(id: $id) { registerNumber viewerLevel sex birthYear name fate count lastSeenOn birth { edtf } holder { label }
  weights { edges { node { grams } } } notes { edges { node { text } } } marks { value }
  ancestors(generations: 4) { path shown animal { registerNumber } } inbreeding { value knownAncestry } } }`;
const step = (name: string) =>
  `mutation ($input: ${name.charAt(0).toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { transfer { id state } } }`;
const BOOK = `query ($k: ID!, $d: Day!) { stockBook(keeperId: $k, from: "1900-01-01", asOf: $d) { opening arrived departed closing unaccounted } }`;

type Animal = {
  registerNumber: string;
  viewerLevel: string;
  inbreeding: { value: number; knownAncestry: number };
  ancestors: { path: string; shown: boolean; animal: { registerNumber: string } | null }[];
};
type Book = { opening: number; arrived: number; departed: number; closing: number; unaccounted: number };

/** Dorcas gazelles: López-Cortegano et al. 2021, Heredity; F computed by independent programs (expected/F_dorcas.csv). */
describeWithReference('the first journey with 1,279 gazelles over 22 keepers', () => {
  let test: TestApp;
  let world: RegistryWorld;
  const keepers: TestKeeper[] = [];
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    for (let i = 0; i < KEEPERS; i += 1) keepers.push(await world.keeper(`Keeper ${i}`));
    const clubId = await world.club(...keepers);
    const options = [
      '--register-into',
      `club-${clubId}`,
      '--taxon',
      'Gazella dorcas',
      '--taxon-order',
      'Artiodactyla',
      '--taxon-class',
      'Mammalia',
    ];
    const output = { stdout: () => undefined, stderr: (text: string) => process.stderr.write(text) };
    expect(await registerInto([referencePath('pedigrees/dorcas.csv'), ...options], output, test.databaseUrl)).toBe(0);
  }, 180_000);
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  it('a juvenile changes keepers with its record; a third keeper sees lineage and nothing else', async () => {
    const today = new Date().toISOString().slice(0, 10);
    const [giver, receiver, third] = keepers;
    if (giver === undefined || receiver === undefined || third === undefined) throw new Error('too few keepers');
    await world.db.keeper.update({ where: { id: giver.keeperId }, data: { region: 'XA-CANARY' } });
    const read = async (id: string, keeper: TestKeeper) =>
      (await test.get<{ animal: Animal }>(ANIMAL, { id }, keeper.token)).animal;
    const bookOf = async (keeper: TestKeeper) =>
      (await test.get<{ stockBook: Book }>(BOOK, { k: keeper.keeperId, d: today }, keeper.token)).stockBook;

    const collection = await test.get<{
      myCollection: { edges: { node: { id: string; birthYear: number | null; fate: string } }[] };
    }>(
      `query ($k: ID!) { myCollection(keeperId: $k, first: 100) { edges { node { id birthYear fate } } } }`,
      { k: giver.keeperId },
      giver.token,
    );
    const youngest = collection.myCollection.edges
      .map(({ node }) => node)
      .toSorted((a, b) => (b.birthYear ?? 0) - (a.birthYear ?? 0))[0];
    if (youngest === undefined) throw new Error('the giver has no animal');

    const before = await read(youngest.id, giver);
    expect(before.viewerLevel).toBe('full');
    const number = (await world.db.animalMark.findFirstOrThrow({ where: { animalId: youngest.id } })).value;
    const expected = referenceTable('expected/F_dorcas.csv').find((row) => row['id'] === number);
    expect(before.inbreeding.value).toBeCloseTo(Number(expected?.['F']), 9);
    expect(before.ancestors.length).toBeGreaterThan(5);
    expect(before.ancestors.every(({ shown }) => shown)).toBe(true);

    const books = [await bookOf(giver), await bookOf(receiver)];
    const note = `mutation ($input: RecordFactInput!) { recordFact(input: $input) { animal { id } } }`;
    await test.get(
      note,
      { input: { animalId: youngest.id, note: { topic: 'care', text: 'CANARY-CARE' } } },
      giver.token,
    );
    const offer = await test.get<{ offerTransfer: { transfer: { id: string } } }>(
      step('offerTransfer'),
      {
        input: {
          fromKeeperId: giver.keeperId,
          toKeeperId: receiver.keeperId,
          kind: 'sale',
          price: { minor: 424242, currency: 'EUR' },
          message: 'CANARY-MESSAGE',
          items: [{ animalId: youngest.id }],
        },
      },
      giver.token,
    );
    const transferId = offer.offerTransfer.transfer.id;
    await test.get(step('acceptTransfer'), { input: { transferId } }, receiver.token);
    await test.get(step('sendTransfer'), { input: { transferId, sentOn: today } }, giver.token);
    const received = {
      transferId,
      receivedOn: today,
      items: [{ animalId: youngest.id, arrivals: [{ state: 'well', count: 1 }] }],
    };
    await test.get(step('receiveTransfer'), { input: received }, receiver.token);

    const after = await read(youngest.id, receiver);
    expect(after).toMatchObject({ viewerLevel: 'full', inbreeding: before.inbreeding, ancestors: before.ancestors });
    expect(JSON.stringify(after)).toContain('CANARY-CARE');
    expect((await read(youngest.id, giver)).viewerLevel).toBe('past');
    expect(await bookOf(giver)).toEqual({
      ...books[0],
      departed: (books[0]?.departed ?? 0) + 1,
      closing: (books[0]?.closing ?? 0) - 1,
    });
    expect(await bookOf(receiver)).toEqual({
      ...books[1],
      arrived: (books[1]?.arrived ?? 0) + 1,
      closing: (books[1]?.closing ?? 0) + 1,
    });

    const seen = await read(youngest.id, third);
    expect(seen).toMatchObject({
      viewerLevel: 'club',
      name: null,
      fate: null,
      count: null,
      birth: null,
      holder: null,
      notes: null,
      weights: null,
      lastSeenOn: null,
    });
    const transfer = await test.ask(
      `query ($id: ID!) { transfer(id: $id) { price { minor } message } }`,
      { id: transferId },
      third.token,
    );
    expect(transfer.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    expect(JSON.stringify([seen, transfer])).not.toMatch(/CANARY|[:"]424242\b|Keeper 0|Keeper 1/);
  });
});

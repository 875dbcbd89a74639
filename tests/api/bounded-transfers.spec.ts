import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { decide } from '../../libs/kernel/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { PackClient } from '../support/pack-client.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { statementsOf } from '../support/query-count.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/** How many statements reading takes does not follow from how much there is: asked of five of something and of twenty. */

const TODAY = '2026-06-10';
const [FEW, MANY] = [5, 20];
/** What a record pack asks for each clutch of its eggs. */
const STATEMENTS_A_CLUTCH = 10;

let test: TestApp;
let world: RegistryWorld;
let taxonId: string;
const sides = new Map<number, Awaited<ReturnType<typeof between>>>();
beforeAll(async () => {
  test = await startTestApp();
  test.setDay(TODAY);
  world = new RegistryWorld(test);
  taxonId = await world.taxon();
  for (const count of [FEW, MANY]) sides.set(count, await between(count));
}, 300_000);
afterAll(async () => {
  await world.close();
  await test.close();
});

async function run<T>(name: string, input: object, who: TestKeeper, fields = '__typename'): Promise<T> {
  const type = `${name[0]?.toUpperCase()}${name.slice(1)}Input`;
  const document = `mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`;
  const answer = await test.get<Record<string, T>>(document, { input }, who.token);
  return answer[name] as T;
}

/** A giver and a receiver with so many of everything between them, and one transfer of so many animals and clutches. */
async function between(count: number) {
  const [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
  const { keeperId } = giver;
  const since = '2026-01-10';
  const sireId = await world.animal(giver, taxonId, { sex: 'male', since });
  const damId = await world.animal(giver, taxonId, { sex: 'female', since });
  const animalIds: string[] = [];
  const clutchIds: string[] = [];
  for (let i = 0; i < count; i += 1) {
    const marks = [{ kind: 'notch', value: `${count}-${i}` }];
    animalIds.push(await world.animal(giver, taxonId, { sireId, damId, marks, since: '2026-02-10' }));
    const { clutch } = await run<{ clutch: { id: string } }>(
      'recordClutch',
      { damId, eggCount: 3, laid: '2026-05-01', separateClutch: true },
      giver,
      'clutch { id }',
    );
    clutchIds.push(clutch.id);
    await run('openCollection', { keeperId, name: `Collection ${i}` }, giver);
    await run('grantReading', { animalId: animalIds[i], toKeeperId: receiver.keeperId, until: '2026-07-01' }, giver);
    await world.club(giver, receiver);
    const single = await world.animal(giver, taxonId, { since });
    const offer = {
      fromKeeperId: keeperId,
      toKeeperId: receiver.keeperId,
      kind: 'gift',
      items: [{ animalId: single }],
    };
    await run('offerTransfer', offer, giver);
  }
  await run('openQuarantine', { keeperId, animalIds, enteredOn: '2026-06-09' }, giver);
  const notice = { keeperId, kind: 'thread_message', body: {}, dueOn: null };
  const notices = Array.from({ length: count }, (_, i) => ({ ...notice, dedupeKey: `of ${keeperId} ${i}` }));
  await test.app.get(UnitOfWork, { strict: false }).writeAsServer(null, async (tx) => {
    await test.app.get(NoticeStore, { strict: false }).writeMany(tx, notices);
    return decide(null);
  });
  const { transfer } = await run<{ transfer: { id: string } }>(
    'offerTransfer',
    {
      fromKeeperId: keeperId,
      toKeeperId: receiver.keeperId,
      kind: 'gift',
      items: animalIds.map((animalId) => ({ animalId })),
      eggs: clutchIds.map((clutchId) => ({ clutchId, count: 2 })),
    },
    giver,
    'transfer { id }',
  );
  return { giver, receiver, transferId: transfer.id, animalId: animalIds[0] ?? '', animalIds };
}

const of = (count: number) => {
  const made = sides.get(count);
  if (made === undefined) throw new RangeError('There is no such world.');
  return made;
};
/** Statements of one reading of the few and of the many, once what is read once a process has been read. */
async function counted(read: (count: number) => Promise<number>): Promise<{ few: number; many: number }> {
  // What is read: more of the many than of the few, or nothing is said by the statements.
  expect(await read(MANY)).toBeGreaterThan(await read(FEW));
  const few = await statementsOf(() => read(FEW));
  const many = await statementsOf(() => read(MANY));
  expect(few.length).toBeGreaterThan(1); // the count itself works
  return { few: few.length, many: many.length };
}

const ANIMAL =
  'animal { registerNumber taxon { scientificName } marks { kind } holder { label } sire { id } dam { id } }';
const TRANSFER = `id state from { label } to { label } viewerCan { __typename } items { count arrivals { state } ${ANIMAL} }
  eggs { clutchId eggs { number arrival } } conditions { __typename } countersignatures { side } paymentPlan { __typename }`;

describe('statements', () => {
  it.each([
    ['a transfer', `query ($transferId: ID!) { transfer(id: $transferId) { ${TRANSFER} } }`],
    ['transfers', `query ($k: ID!) { myTransfers(keeperId: $k, first: 50) { edges { node { ${TRANSFER} } } } }`],
    ['checks', 'query ($transferId: ID!) { transferChecks(transferId: $transferId) { check effect } }'],
    [
      'collections',
      'query ($k: ID!) { myCollections(keeperId: $k, first: 50) { edges { node { __typename name } } } }',
    ],
    ['own reading', 'query ($r: ID!) { myReading(keeperId: $r, first: 50) { edges { node { __typename } } } }'],
    [
      'sights',
      'query ($animalId: ID!, $on: Day!) { whoCouldSee(animalId: $animalId, on: $on, first: 50) { edges { node { label way } } } }',
    ],
    ['notices', 'query ($k: ID!) { notices(keeperId: $k, first: 50) { edges { node { __typename } } } }'],
    ['an export', 'query ($k: ID!) { exportMyData(keeperId: $k) { json } }'],
  ])('of %s are as many for twenty as for five', async (_, query) => {
    const { few, many } = await counted(async (count) => {
      const { giver, receiver, transferId, animalId } = of(count);
      const own = query.includes('$r') ? receiver : giver;
      const variables = { k: giver.keeperId, r: receiver.keeperId, transferId, animalId, on: TODAY };
      return JSON.stringify(await test.get(query, variables, own.token)).length;
    });
    expect(many).toBeLessThanOrEqual(few);
  });

  it('of a record pack grow with its clutches alone: who can be their parents is asked for each', async () => {
    const { few, many } = await counted(async (count) => {
      const { giver, transferId } = of(count);
      const { pack } = await new PackClient(test).archive(giver, `/transfers/${transferId}/record.zip`);
      return JSON.stringify(pack).length;
    });
    expect(many - few).toBeLessThanOrEqual(STATEMENTS_A_CLUTCH * (MANY - FEW));
  });

  it.each([
    ['moving animals to a collection', 'moveToCollection', { collectionId: null }],
    ['setting what is shown of animals', 'setAnimalSharing', { holdingsShown: 'nobody', lineageWithheld: false }],
  ])('of %s are as many for twenty as for five', async (_, name, more) => {
    const { few, many } = await counted(async (count) => {
      const { giver, animalIds } = of(count);
      return JSON.stringify(await run(name, { animalIds, ...more }, giver, 'animals { id }')).length;
    });
    expect(many).toBeLessThanOrEqual(few);
  });

  it('of receiving eggs of a clutch are as many for twenty as for five', async () => {
    const [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
    const damId = await world.animal(giver, taxonId, { sex: 'female', since: '2026-01-10' });
    const received = async (count: number): Promise<number> => {
      const { clutch } = await run<{ clutch: { id: string } }>(
        'recordClutch',
        { damId, eggCount: count, laid: '2026-05-01', separateClutch: true },
        giver,
        'clutch { id }',
      );
      const to = { fromKeeperId: giver.keeperId, toKeeperId: receiver.keeperId, kind: 'gift' };
      const offer = { ...to, items: [], eggs: [{ clutchId: clutch.id, count }] };
      const { transfer } = await run<{ transfer: { id: string } }>('offerTransfer', offer, giver, 'transfer { id }');
      const transferId = transfer.id;
      await run('acceptTransfer', { transferId }, receiver);
      await run('sendTransfer', { transferId, sentOn: TODAY }, giver);
      const numbers = Array.from({ length: count }, (_, i) => i + 1);
      const receipt = {
        transferId,
        receivedOn: TODAY,
        items: [],
        eggs: [{ clutchId: clutch.id, numbers, state: 'well' }],
      };
      return (await statementsOf(() => run('receiveTransfer', receipt, receiver))).length;
    };
    await received(1);
    expect(await received(MANY)).toBeLessThanOrEqual(await received(FEW));
  });
});

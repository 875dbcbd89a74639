import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { exportDocument } from '../../libs/exchange/index.js';
import { BreedingWorld } from '../support/breeding-world.js';
import { MinorWorld } from '../support/minor-world.js';
import { type TestKeeper } from '../support/registry-world.js';
import { holdRow } from '../support/transfer-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

/** What a keeper has to do with others when one of them asks to be forgotten, and what the export says of it. */

const PASSWORD = 'a long enough password';
const DAY = '2026-06-10';

let test: TestApp;
let world: MinorWorld;
let breeding: BreedingWorld;
let taxonId: string;
beforeAll(async () => {
  test = await startTestApp();
  world = new MinorWorld(test);
  breeding = new BreedingWorld(test, world);
  taxonId = await world.taxon();
  test.setDay(DAY);
});
afterAll(async () => {
  test.setDay(null);
  await world.close();
  await test.close();
});

type Made = { transfer?: { id: string }; grant?: { id: string } };
const run = (name: string, input: object, who: TestKeeper, fields = '__typename') =>
  world.run<Record<string, Made>>(name, input, who, fields);
async function done(name: string, input: object, who: TestKeeper, fields?: string): Promise<Made> {
  const { data, errors } = await run(name, input, who, fields);
  const made = data?.[name];
  if (errors !== undefined || made === undefined) throw new Error(`${name}: ${JSON.stringify(errors)}`);
  return made;
}
const forget = (who: TestKeeper) => run('forgetMe', { password: PASSWORD }, who);
const told = (answer: Answer<unknown>) => {
  const [error] = answer.errors ?? [];
  return error === undefined ? 'done' : [error.message, error.extensions.code, error.extensions.rule];
};
const blockers = (answer: Answer<unknown>) =>
  (answer.errors?.[0]?.extensions.blockers ?? []).map(({ kind, id }) => [kind, id]);

/** A clutch of three eggs of which the first two go to the receiver. */
async function eggsTo(giver: TestKeeper, receiver: TestKeeper) {
  const place = await breeding.enclosure(giver, 'Behind the stove');
  const { dam } = await breeding.pair(giver, await breeding.taxon(), place);
  const clutchId = (
    await breeding.do(giver, 'recordClutch', { damId: dam, eggCount: 3, laid: '2026-06-01', enclosureId: place })
  ).clutch.id;
  await breeding.do(giver, 'recordEggEvents', { clutchId, kind: 'incubated', when: '2026-06-02', incubator: 'GIVERS' });
  const offer = { fromKeeperId: giver.keeperId, kind: 'gift', toKeeperId: receiver.keeperId, items: [] };
  const made = await done(
    'offerTransfer',
    { ...offer, eggs: [{ clutchId, numbers: [1, 2] }] },
    giver,
    'transfer { id }',
  );
  const transferId = made.transfer?.id ?? '';
  await done('acceptTransfer', { transferId }, receiver);
  await done('sendTransfer', { transferId, sentOn: DAY }, giver);
  await done(
    'receiveTransfer',
    { transferId, receivedOn: DAY, items: [], eggs: [{ clutchId, numbers: [1, 2], state: 'well' }] },
    receiver,
  );
  return { clutchId, dam, transferId };
}

async function exportOf(keeper: TestKeeper) {
  const { exportMyData } = await test.get<{ exportMyData: { json: string } }>(
    `query ($k: ID!) { exportMyData(keeperId: $k) { json } }`,
    { k: keeper.keeperId },
    keeper.token,
  );
  return { text: exportMyData.json, document: exportDocument.parse(JSON.parse(exportMyData.json)) };
}

describe('eggs and a person who asks to be forgotten', () => {
  it('wait for somebody else to have them, or for what became of them, also that nobody knows', async () => {
    const [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
    const { clutchId } = await eggsTo(giver, receiver);
    await breeding.do(receiver, 'recordEggEvents', {
      clutchId,
      kind: 'incubated',
      eggs: [1],
      incubator: 'RECEIVERS',
      celsius: 29,
    });
    expect(blockers(await forget(receiver))).toEqual([['clutch', clutchId]]);
    expect(blockers(await forget(giver))).toContainEqual(['clutch', clutchId]); // the third one is hers
    const { document, text } = await exportOf(receiver);
    expect(document.eggsHeld).toMatchObject([
      { number: 1, laid: { edtf: '2026-06-01' }, from: DAY, to: null, events: [{ kind: 'incubated', celsius: 29 }] },
      { number: 2, from: DAY, to: null, events: [] },
    ]);
    expect(text).not.toContain('GIVERS');
    const givers = await exportOf(giver);
    expect(givers.text).not.toContain('RECEIVERS');
    expect(givers.text).toContain('GIVERS');
    expect(givers.document.transfers[0]?.breedingShown).toMatchObject([{ of: 'clutch', laid: { edtf: '2026-06-01' } }]);

    await breeding.do(receiver, 'recordEggEvents', { clutchId, kind: 'failed', eggs: [1] });
    expect(blockers(await forget(receiver))).toEqual([['clutch', clutchId]]);
    await breeding.do(receiver, 'recordEggEvents', { clutchId, kind: 'fate_unknown', eggs: [2] });
    expect(told(await forget(receiver))).toBe('done');
    // What the receiver wrote about the giver's egg went with the receiver; that it was warmed, stays.
    const events = await world.db.eggEvent.findMany({ where: { clutchId, kind: 'incubated' }, orderBy: { id: 'asc' } });
    expect(events.map(({ incubator, celsius }) => [incubator, celsius?.toNumber() ?? null])).toEqual([
      ['GIVERS', null],
      [null, 29],
    ]);
  });
});

describe('reading as a guest and a person who asks to be forgotten', () => {
  it('ends with either side, and the export of both says which animal it was about', async () => {
    const [granter, guest] = [await world.keeper('Granter'), await world.keeper('Guest')];
    const animalId = await world.animal(granter, taxonId, {});
    const other = await world.animal(guest, taxonId, {});
    const grant = (id: string, from: TestKeeper, to: TestKeeper) =>
      done('grantReading', { animalId: id, toKeeperId: to.keeperId, until: '2026-12-31' }, from);
    await grant(animalId, granter, guest);
    await grant(other, guest, granter);
    const { document } = await exportOf(granter);
    const number = document.animals[0]?.registerNumber;
    expect(number).toBeDefined();
    expect(document.readingGrants).toMatchObject([{ reader: 'Guest', animal: number, until: '2026-12-31' }]);
    expect(document.guestReading).toMatchObject([{ until: '2026-12-31', endedAt: null }]);
    expect((await exportOf(guest)).document.guestReading).toMatchObject([{ animal: number }]);

    await done('recordDeath', { animalId: other, on: DAY }, guest);
    expect(told(await forget(guest))).toBe('done');
    const rows = await world.db.readingGrant.findMany({ include: { access: true } });
    const ends = rows.map(({ endedAt, access }) => [endedAt !== null, access.validTo?.toISOString().slice(0, 10)]);
    expect(ends).toEqual([
      [true, DAY],
      [true, DAY],
    ]);
  });
});

describe('the id of a keeper that was forgotten', () => {
  it('answers like an id that is not there, wherever others could name it', async () => {
    const [gone, other] = [await world.keeper('Gone'), await world.keeper('Other')];
    const clubId = await world.club(other);
    await world.db.office.create({
      data: { id: uuid(), clubId, accountId: other.accountId, validFrom: new Date('2026-01-01') },
    });
    const animalId = await world.animal(other, taxonId, {});
    expect(told(await forget(gone))).toBe('done');
    const ways: [string, (id: string) => object][] = [
      [
        'offerTransfer',
        (toKeeperId) => ({ fromKeeperId: other.keeperId, kind: 'gift', toKeeperId, items: [{ animalId }] }),
      ],
      ['grantReading', (toKeeperId) => ({ animalId, toKeeperId, until: '2026-12-31' })],
      ['inviteToClub', (keeperId) => ({ clubId, keeperId })],
    ];
    for (const [name, input] of ways) {
      const forgotten = told(await run(name, input(gone.keeperId), other));
      expect(forgotten).toEqual(told(await run(name, input(uuid()), other)));
      expect(forgotten).toContain('NOT_FOUND');
    }
  });
});

describe('a request under way while its keeper is forgotten', () => {
  const atOnce = async (who: TestKeeper, ways: (() => Promise<Answer<unknown>>)[]) => {
    const barrier = await holdRow(test.databaseUrl, 'keeper', who.keeperId);
    const all: Promise<Answer<unknown>>[] = [];
    for (const way of ways) {
      all.push(way());
      // Whoever has been waiting longer goes first.
      await barrier.untilWaiting(all.length);
    }
    await barrier.releaseWhenWaiting(ways.length);
    return (await Promise.all(all)).map(told);
  };
  const register = (who: TestKeeper) => () => run('registerAnimal', { keeperId: who.keeperId, taxonId }, who);

  it('registers nothing for it when the forgetting comes first, and holds the forgetting up when it comes first', async () => {
    const gone = await world.keeper('Gone');
    const [first, second] = await atOnce(gone, [() => forget(gone), register(gone)]);
    expect(first).toBe('done');
    expect(second).toContain('KEEPER_FORGOTTEN');
    expect(await world.db.custody.count({ where: { keeperId: gone.keeperId } })).toBe(0);

    const stays = await world.keeper('Stays');
    const [third, fourth] = await atOnce(stays, [register(stays), () => forget(stays)]);
    expect(third).toBe('done');
    expect(fourth).toContain('FORGET_UNSETTLED');
  });

  it('is not offered an animal in the same instant', async () => {
    const [gone, other] = [await world.keeper('Gone'), await world.keeper('Other')];
    const animalId = await world.animal(other, taxonId, {});
    const offer = () => world.offer(other, gone.keeperId, [animalId]);
    const [first, second] = await atOnce(gone, [() => forget(gone), offer]);
    expect(first).toBe('done');
    expect(second).toContain('NOT_FOUND');
    expect(await world.db.transfer.count({ where: { toKeeperId: gone.keeperId } })).toBe(0);
  });
});

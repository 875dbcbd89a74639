import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { BreedingWorld } from '../support/breeding-world.js';
import { pdfText } from '../support/pdf-text.js';
import { statementsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type GraphqlError, startTestApp, type TestApp } from '../support/test-app.js';

type Egg = {
  number: number;
  state: string;
  own: boolean | null;
  topMarked: boolean;
  place: { placeKind: string } | null;
};
type Breeder = { keeperId: string | null; sure: string };
type EggLine = { number: number; arrival: string | null; notSent: boolean };
type Transfer = {
  id: string;
  state: string;
  items: { animalId: string }[];
  eggs: { clutchId: string; eggs: EggLine[] }[];
};

const FIELDS = 'id state items { animalId } eggs { clutchId eggs { number arrival notSent } }';

let test: TestApp;
let world: RegistryWorld;
let breeding: BreedingWorld;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  breeding = new BreedingWorld(test, world);
});
afterAll(async () => {
  test.setDay(null);
  await world.close();
  await test.close();
});

async function send(name: string, input: object, who: TestKeeper) {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const query = `mutation ($input: ${type}!) { ${name}(input: $input) { transfer { ${FIELDS} } } }`;
  return test.ask<Record<string, { transfer: Transfer }>>(query, { input }, who.token);
}

async function done(name: string, input: object, who: TestKeeper): Promise<Transfer> {
  const { data, errors } = await send(name, input, who);
  const made = data?.[name];
  if (errors !== undefined || made === undefined) throw new Error(`${name}: ${JSON.stringify(errors)}`);
  return made.transfer;
}

async function refusal(name: string, input: object, who: TestKeeper): Promise<GraphqlError['extensions'] | undefined> {
  return (await send(name, input, who)).errors?.[0]?.extensions;
}

async function readClutch(id: string, who: TestKeeper) {
  const { data, errors } = await test.ask<{
    clutch: {
      breeders: Breeder[];
      eggs: { edges: { node: Egg & { incubatedDays: { least: number; most: number | null } | null } }[] };
      events: { edges: { node: { kind: string; incubator: string | null; celsius: number | null } }[] };
      hatchings: { edges: { node: { breeders: Breeder[]; animal: { id: string } | null } }[] };
    };
  }>(
    `query ($id: ID!) { clutch(id: $id) { breeders { keeperId sure }
      eggs(first: 20) { edges { node { number state own topMarked place { placeKind } incubatedDays { least most } } } }
      events(first: 20) { edges { node { kind incubator celsius } } }
      hatchings { edges { node { breeders { keeperId sure } animal { id } } } } } }`,
    { id },
    who.token,
  );
  if (errors !== undefined) return null;
  const { eggs, events, hatchings, breeders } = data?.clutch ?? { breeders: [] };
  return {
    breeders,
    eggs: eggs?.edges.map(({ node }) => node) ?? [],
    events: events?.edges.map(({ node }) => node) ?? [],
    hatchings: hatchings?.edges.map(({ node }) => node) ?? [],
  };
}

type Sire = { probability: number; animal: { id: string } | null };

async function proposal(clutchId: string, who: TestKeeper) {
  const { parentProposal } = await test.get<{
    parentProposal: { sires: Sire[]; warnings: { code: string }[] };
  }>(
    `query ($id: ID!) { parentProposal(clutchId: $id) { sires { probability animal { id } } warnings { code } } }`,
    { id: clutchId },
    who.token,
  );
  return parentProposal;
}

/** A pair of the giver with a clutch of five eggs in an incubator, on 2026-06-10. */
async function clutchOf(giver: TestKeeper) {
  const place = await breeding.enclosure(giver, 'Behind the stove');
  const { dam, sire } = await breeding.pair(giver, await breeding.taxon(), place);
  const laid = { damId: dam, eggCount: 5, laid: '2026-06-01', enclosureId: place };
  const clutchId = (await breeding.do(giver, 'recordClutch', laid)).clutch.id;
  await breeding.do(giver, 'recordEggEvents', {
    clutchId,
    kind: 'incubated',
    when: '2026-06-02/2026-06-04',
    incubator: 'Cellar, left shelf',
    celsius: 28.5,
  });
  await breeding.do(giver, 'recordEggEvents', { clutchId, kind: 'top_marked', eggs: [1, 2, 3] });
  return { clutchId, dam, sire, place };
}

describe('eggs of a clutch are handed over', () => {
  let giver: TestKeeper;
  let receiver: TestKeeper;
  let made: Awaited<ReturnType<typeof clutchOf>>;
  let transferId: string;

  beforeAll(async () => {
    giver = await world.keeper('Giver');
    receiver = await world.keeper('Receiver');
    made = await clutchOf(giver);
  });

  it('the offer shows what goes along, and never where the giver has them', async () => {
    expect(await readClutch(made.clutchId, receiver)).toBeNull();
    const offered = await done(
      'offerTransfer',
      {
        fromKeeperId: giver.keeperId,
        kind: 'gift',
        toKeeperId: receiver.keeperId,
        items: [],
        eggs: [{ clutchId: made.clutchId, count: 3 }],
      },
      giver,
    );
    transferId = offered.id;
    expect(offered.eggs[0]?.eggs.map(({ number }) => number)).toEqual([1, 2, 3]);
    const shown = await readClutch(made.clutchId, receiver);
    expect(shown?.events.find(({ kind }) => kind === 'incubated')).toEqual({
      kind: 'incubated',
      incubator: null,
      celsius: 28.5,
    });
    expect(shown?.eggs[0]).toMatchObject({
      topMarked: true,
      own: false,
      place: { placeKind: 'incubator' },
      incubatedDays: { least: 6, most: 8 },
    });
    expect(shown?.eggs[4]?.topMarked).toBe(false);
    expect((await readClutch(made.clutchId, giver))?.events[0]?.incubator).toBe('Cellar, left shelf');
  });

  it('an egg is in one open transfer', async () => {
    const third = await world.keeper('Third');
    const input = { fromKeeperId: giver.keeperId, kind: 'gift', toKeeperId: third.keeperId, items: [] };
    const twice = { ...input, eggs: [{ clutchId: made.clutchId, numbers: [3, 4] }] };
    expect(await refusal('offerTransfer', twice, giver)).toMatchObject({
      rule: 'TRANSFER_EGG_OPEN',
      blockers: [{ kind: 'transfer', id: transferId }],
    });
    const many = { ...input, eggs: [{ clutchId: made.clutchId, count: 3 }] };
    expect(await refusal('offerTransfer', many, giver)).toMatchObject({ rule: 'EGGS_TOO_FEW' });
  });

  it('an egg that is on its way does not hatch in the giver’s book', async () => {
    await done('acceptTransfer', { transferId }, receiver);
    const { transferChecks } = await test.get<{ transferChecks: { check: string; effect: string; clears: string }[] }>(
      'query ($id: ID!) { transferChecks(transferId: $id) { check effect clears } }',
      { id: transferId },
      giver.token,
    );
    expect(transferChecks.map(({ check, effect }) => [check, effect])).toEqual([['eggs', 'warn']]);
    expect(transferChecks[0]?.clears).toContain('the local authority decides');
    await done('sendTransfer', { transferId, sentOn: '2026-06-10', way: 'shipment' }, giver);
    const young = { clutchId: made.clutchId, when: '2026-06-10', young: [{ eggNumber: 1 }] };
    expect(await breeding.refused(giver, 'recordHatchlings', young)).toMatchObject({
      rule: 'EGG_ON_ITS_WAY',
      blockers: [{ kind: 'transfer', id: transferId }],
    });
  });

  it('they arrive in parts, each in its state', async () => {
    const first = { clutchId: made.clutchId, numbers: [1], state: 'well' };
    const part = { transferId, receivedOn: '2026-06-10', items: [], eggs: [first], moreToCome: true };
    expect((await done('receiveTransfer', part, receiver)).state).toBe('sent');
    const silent = { ...part, moreToCome: false, eggs: [{ clutchId: made.clutchId, numbers: [2], state: 'well' }] };
    expect(await refusal('receiveTransfer', silent, receiver)).toMatchObject({ rule: 'TRANSFER_ARRIVALS_INCOMPLETE' });
    const rest = [
      { clutchId: made.clutchId, numbers: [2], state: 'dead' },
      { clutchId: made.clutchId, numbers: [3], state: 'refused' },
    ];
    const received = await done('receiveTransfer', { ...part, eggs: rest, moreToCome: false }, receiver);
    expect(received.state).toBe('received');
    const theirs = await readClutch(made.clutchId, receiver);
    expect(theirs?.eggs.map(({ own }) => own)).toEqual([true, true, false, false, false]);
    expect(theirs?.eggs[1]?.state).toBe('failed');
    expect((await readClutch(made.clutchId, giver))?.eggs[2]).toMatchObject({ own: true, state: 'incubated' });
  });

  it('the receiver goes on with them and the giver no longer; each reads what is theirs', async () => {
    const candled = { clutchId: made.clutchId, kind: 'candled', candling: 'fertile', eggs: [1] };
    expect(await breeding.refused(giver, 'recordEggEvents', candled)).toMatchObject({ rule: 'EGG_HANDED_ON' });
    await breeding.do(receiver, 'recordEggEvents', candled);
    expect(await breeding.refused(receiver, 'recordEggEvents', { ...candled, eggs: [4] })).toMatchObject({
      rule: 'EGG_HANDED_ON',
    });
    // All that are left with the giver: not those of the receiver.
    await breeding.do(giver, 'recordEggEvents', { clutchId: made.clutchId, kind: 'failed' });
    expect((await readClutch(made.clutchId, receiver))?.eggs[0]?.state).toBe('incubated');
    expect((await readClutch(made.clutchId, giver))?.eggs.map(({ state }) => state)).toEqual([
      'incubated',
      'failed', // the giver is told with the receipt
      'failed',
      'failed',
      'failed',
    ]);
  });

  it('what hatches at the receiver’s is held there, and has the giver’s animals as parents', async () => {
    test.setDay('2026-08-01');
    const young = { clutchId: made.clutchId, when: '2026-07-31', young: [{}] };
    expect(await breeding.refused(receiver, 'recordHatchlings', young)).toMatchObject({
      rule: 'HATCHLING_EGG_NOT_SAID',
    });
    const hatched = await breeding.do(receiver, 'recordHatchlings', { ...young, young: [{ eggNumber: 1 }] });
    const id = hatched.young[0]?.id ?? '';
    const claims = await world.db.parentCandidate.findMany({
      where: { claim: { childId: id, supersededAt: null } },
      select: { parentId: true, probability: true },
    });
    const parents = Object.fromEntries(claims.map((each) => [each.parentId, each.probability.toNumber()]));
    expect(parents).toEqual({ [made.dam]: 1, [made.sire]: 1 });
    const custody = await world.db.custody.findMany({ where: { animalId: id, supersededAt: null } });
    expect(custody).toMatchObject([{ keeperId: receiver.keeperId, arrivedBy: 'born' }]);
    const theirs = await readClutch(made.clutchId, receiver);
    const breeders = [{ keeperId: giver.keeperId, sure: 'yes' }];
    expect(theirs?.breeders).toEqual(breeders);
    expect(theirs?.hatchings).toMatchObject([{ breeders, animal: { id } }]);
    expect((await readClutch(made.clutchId, giver))?.hatchings).toEqual([]);
    test.setDay('2026-06-10');
  });

  it('a failed transfer puts all back', async () => {
    const again = await clutchOf(giver);
    const offer = {
      fromKeeperId: giver.keeperId,
      kind: 'gift',
      toKeeperId: receiver.keeperId,
      items: [],
      eggs: [{ clutchId: again.clutchId, numbers: [1, 2] }],
    };
    const { id } = await done('offerTransfer', offer, giver);
    await done('acceptTransfer', { transferId: id }, receiver);
    await done('sendTransfer', { transferId: id, sentOn: '2026-06-10' }, giver);
    for (const who of [giver, receiver])
      await done('failTransfer', { transferId: id, failure: 'came_back', reason: 'The post turned back.' }, who);
    expect(await readClutch(again.clutchId, receiver)).toBeNull();
    expect((await done('offerTransfer', offer, giver)).state).toBe('offered');
    await breeding.do(giver, 'recordEggEvents', { clutchId: again.clutchId, kind: 'failed', eggs: [1] });
  });
});

describe('eggs that were refused, and the last of them left out', () => {
  it('the transfer is over, and the clutch is shared no more with a receiver who got none of them', async () => {
    const [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
    const { clutchId } = await clutchOf(giver);
    const input = { fromKeeperId: giver.keeperId, kind: 'gift', toKeeperId: receiver.keeperId, items: [] };
    const eggs = [{ clutchId, numbers: [1, 2] }];
    const { id: transferId } = await done('offerTransfer', { ...input, eggs }, giver);
    await done('acceptTransfer', { transferId }, receiver);
    await done('sendTransfer', { transferId, sentOn: '2026-06-10' }, giver);
    const part = { transferId, receivedOn: '2026-06-10', items: [], moreToCome: true };
    await done('receiveTransfer', { ...part, eggs: [{ clutchId, numbers: [1], state: 'refused' }] }, receiver);
    expect(await readClutch(clutchId, receiver)).not.toBeNull();
    const left = { transferId, animalIds: [], eggs: [{ clutchId, numbers: [2] }] };
    expect((await done('leaveOutItems', left, giver)).state).toBe('received');
    expect(await readClutch(clutchId, receiver)).toBeNull();
  });
});

describe('young of eggs that nobody numbered', () => {
  it('a lot uses up as many eggs as it had young, so that a second one does not come out of the same', async () => {
    const [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
    const { clutchId } = await clutchOf(giver);
    await handOver(giver, receiver, clutchId, [1, 2, 3]);
    test.setDay('2026-08-01');
    const lot = (count: number) => ({ clutchId, when: '2026-07-31', young: [{ count }] });
    const first = await breeding.do(receiver, 'recordHatchlings', lot(2));
    expect(await breeding.refused(receiver, 'recordHatchlings', lot(2))).toMatchObject({
      rule: 'HATCHLING_EGG_NOT_SAID',
    });
    // Those of one keeper are not the other's.
    await breeding.do(giver, 'recordHatchlings', lot(2));
    const other = await world.lot(giver, await taxonOf(first.young[0]?.id ?? ''), 2);
    const came = { clutchId, animalId: other, when: '2026-07-31' };
    expect(await breeding.refused(giver, 'recordHatching', came)).toMatchObject({ rule: 'HATCHLING_EGG_NOT_SAID' });
    // Said afterwards of which eggs: those are the same, and no others.
    await breeding.do(receiver, 'recordEggEvents', { clutchId, kind: 'hatched', eggs: [1, 2], when: '2026-07-31' });
    await breeding.do(receiver, 'recordHatchlings', { ...lot(1), young: [{ eggNumber: 3 }] });
    test.setDay('2026-06-10');
  });
});

async function taxonOf(animalId: string): Promise<string> {
  return (await world.db.animal.findUniqueOrThrow({ where: { id: animalId } })).taxonId;
}

describe('a gravid female goes with what can have made her so', () => {
  it('a clutch at the receiver’s names the giver’s males as candidates, without identity', async () => {
    const [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
    const place = await breeding.enclosure(giver, 'A');
    const { dam, sire } = await breeding.pair(giver, await breeding.taxon(), place);
    const animal = await world.db.animal.findUniqueOrThrow({ where: { id: dam } });
    test.setDay('2026-01-01');
    const birth = { edtf: '2020', manner: 'hatched' };
    const second = await world.animal(giver, animal.taxonId, { sex: 'male', birth });
    await breeding.do(giver, 'placeAnimals', { enclosureId: place, animalIds: [second] });
    test.setDay('2026-06-10');
    const offer = async (gravid: boolean) => {
      const input = { fromKeeperId: giver.keeperId, kind: 'sale', toKeeperId: receiver.keeperId };
      return done('offerTransfer', { ...input, items: [{ animalId: dam, gravid }] }, giver);
    };
    const { id: transferId } = await offer(true);
    await done('acceptTransfer', { transferId }, receiver);
    await done('sendTransfer', { transferId, sentOn: '2026-06-10' }, giver);
    const items = [{ animalId: dam, arrivals: [{ state: 'well', count: 1 }] }];
    await done('receiveTransfer', { transferId, receivedOn: '2026-06-10', items }, receiver);
    test.setDay('2026-07-01');
    const laid = { damId: dam, eggCount: 2, laid: '2026-06-30' };
    const clutchId = (await breeding.do(receiver, 'recordClutch', laid)).clutch.id;
    const found = await proposal(clutchId, receiver);
    expect(found.sires).toEqual([
      { probability: 0.5, animal: null },
      { probability: 0.5, animal: null },
    ]);
    expect(found.warnings.map(({ code }) => code)).not.toContain('SIRE_NOT_SHOWN');
    test.setDay('2026-08-25');
    const young = { clutchId, when: '2026-08-24', young: [{ eggNumber: 1 }] };
    const hatched = await breeding.do(receiver, 'recordHatchlings', young);
    const claims = await world.db.parentCandidate.findMany({
      where: { claim: { childId: hatched.young[0]?.id ?? '', role: 'sire', supersededAt: null } },
    });
    expect(claims.map(({ parentId }) => parentId).toSorted()).toEqual([sire, second].toSorted());
    // In one club both males are shown, and the proposal names them.
    await world.club(giver, receiver);
    const named = await proposal(clutchId, receiver);
    expect(named.sires.map(({ animal: each }) => each?.id).toSorted()).toEqual([sire, second].toSorted());
    test.setDay('2026-06-10');
  });
});

describe('a whole family is offered in one act', () => {
  it('everybody of an enclosure on the day, and its eggs; nothing when one cannot go', async () => {
    const [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
    const { clutchId, dam, sire, place } = await clutchOf(giver);
    await breeding.do(giver, 'recordEggEvents', {
      clutchId,
      kind: 'moved',
      eggs: null,
      enclosureId: place,
      when: '2026-06-09',
    });
    await breeding.do(giver, 'recordEggEvents', { clutchId, kind: 'failed', eggs: [5] });
    const input = { fromKeeperId: giver.keeperId, kind: 'gift', toKeeperId: receiver.keeperId, items: [] };
    const lone = await done('offerTransfer', { ...input, items: [{ animalId: sire }] }, giver);
    const family = { ...input, familyOfEnclosureId: place };
    expect(await refusal('offerTransfer', family, giver)).toMatchObject({ rule: 'TRANSFER_OPEN' });
    expect(await world.db.transferEgg.count({ where: { egg: { clutch: { id: clutchId } } } })).toBe(0);
    await done('withdrawTransfer', { transferId: lone.id }, giver);
    const offered = await done('offerTransfer', family, giver);
    expect(offered.items.map(({ animalId }) => animalId).toSorted()).toEqual([dam, sire].toSorted());
    expect(offered.eggs[0]?.eggs.map(({ number }) => number)).toEqual([1, 2, 3, 4]);
    const stranger = await world.keeper('Stranger');
    const foreign = { ...family, fromKeeperId: stranger.keeperId };
    expect(await refusal('offerTransfer', foreign, stranger)).toMatchObject({ code: 'NOT_FOUND' });
  });
});

/** Eggs of a clutch go from one keeper to another, all steps of it. Gives the transfer's id. */
async function handOver(from: TestKeeper, to: TestKeeper, clutchId: string, numbers: number[]): Promise<string> {
  const eggs = [{ clutchId, numbers }];
  const offer = { fromKeeperId: from.keeperId, kind: 'gift', toKeeperId: to.keeperId, items: [], eggs };
  const { id: transferId } = await done('offerTransfer', offer, from);
  await done('acceptTransfer', { transferId }, to);
  await done('sendTransfer', { transferId, sentOn: '2026-06-10' }, from);
  const arrived = eggs.map((each) => ({ ...each, state: 'well' }));
  await done('receiveTransfer', { transferId, receivedOn: '2026-06-10', items: [], eggs: arrived }, to);
  return transferId;
}

describe('eggs that went on', () => {
  it('are moved with the family of an enclosure of whoever has them, and with no other', async () => {
    const [giver, receiver, third] = [
      await world.keeper('Giver'),
      await world.keeper('Receiver'),
      await world.keeper('Third'),
    ];
    const { clutchId, place } = await clutchOf(giver);
    await breeding.do(giver, 'recordEggEvents', { clutchId, kind: 'moved', enclosureId: place, when: '2026-06-09' });
    await handOver(giver, receiver, clutchId, [1, 2]);
    const [shelf, cellar] = [await breeding.enclosure(receiver, 'Shelf'), await breeding.enclosure(receiver, 'Cellar')];
    const at = { clutchId, kind: 'incubated', enclosureId: shelf };
    await breeding.do(receiver, 'recordEggEvents', at);
    const moved = await breeding.do(receiver, 'moveFamily', { fromEnclosureId: shelf, toEnclosureId: cellar });
    expect(moved.clutches).toBe(1);
    const places = async (who: TestKeeper) =>
      (await world.db.eggEvent.findMany({ where: { keeperId: who.keeperId, kind: 'moved' }, include: { egg: true } }))
        .map(({ egg, enclosureId }) => [egg?.number, enclosureId])
        .toSorted();
    expect(await places(receiver)).toEqual([
      [1, cellar],
      [2, cellar],
    ]);
    // The giver's family has the other three, and no egg of the receiver's.
    const input = { fromKeeperId: giver.keeperId, kind: 'gift', toKeeperId: third.keeperId, items: [] };
    const family = await done('offerTransfer', { ...input, familyOfEnclosureId: place }, giver);
    expect(family.eggs[0]?.eggs.map(({ number }) => number)).toEqual([3, 4, 5]);
    const theirs = { ...input, fromKeeperId: receiver.keeperId, familyOfEnclosureId: cellar };
    const onward = await done('offerTransfer', theirs, receiver);
    expect(onward.eggs[0]?.eggs.map(({ number }) => number)).toEqual([1, 2]);
    const empty = { fromEnclosureId: shelf, toEnclosureId: cellar };
    expect(await breeding.refused(receiver, 'moveFamily', empty)).toMatchObject({ rule: 'MOVE_EMPTY' });
  });

  it('who passed them all on and writes is told so while they read the clutch; strangers find none', async () => {
    const [giver, second, third] = [
      await world.keeper('Giver'),
      await world.keeper('Second'),
      await world.keeper('Third'),
    ];
    const { clutchId } = await clutchOf(giver);
    await handOver(giver, second, clutchId, [1, 2]);
    await handOver(second, third, clutchId, [1, 2]);
    for (const eggs of [[1], null]) {
      const candled = { clutchId, kind: 'candled', candling: 'fertile', eggs };
      expect(await breeding.refused(second, 'recordEggEvents', candled)).toMatchObject({ rule: 'EGG_HANDED_ON' });
    }
    expect(await readClutch(clutchId, second)).not.toBeNull();
    const stranger = await world.keeper('Stranger');
    const failed = { clutchId, kind: 'failed', eggs: [1] };
    expect(await breeding.refused(stranger, 'recordEggEvents', failed)).toMatchObject({ code: 'NOT_FOUND' });
    await breeding.do(third, 'recordEggEvents', failed);
  });

  it('a transfer of many clutches reads them in as many statements as one of two', async () => {
    const [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
    const place = await breeding.enclosure(giver, 'Shelf');
    const { dam } = await breeding.pair(giver, await breeding.taxon(), place);
    const clutches: string[] = [];
    for (const laid of ['2026-01-10', '2026-02-10', '2026-03-10', '2026-04-10', '2026-05-10', '2026-06-09'])
      clutches.push((await breeding.do(giver, 'recordClutch', { damId: dam, eggCount: 2, laid })).clutch.id);
    const offer = async (ids: string[]) => {
      const input = { fromKeeperId: giver.keeperId, kind: 'gift', toKeeperId: receiver.keeperId, items: [] };
      const eggs = ids.map((clutchId) => ({ clutchId, count: 1 }));
      return (await done('offerTransfer', { ...input, eggs }, giver)).id;
    };
    const [two, four] = [await offer(clutches.slice(0, 2)), await offer(clutches.slice(2))];
    const fields = 'breeders { keeperId } dams { probability } eggs(first: 5) { edges { node { number state } } }';
    const of = async (id: string) => {
      let read = 0;
      const statements = await statementsOf(async () => {
        const query = `query ($id: ID!) { transfer(id: $id) { eggs { clutch { ${fields} } } } }`;
        const { transfer } = await test.get<{ transfer: { eggs: { clutch: object | null }[] } }>(
          query,
          { id },
          receiver.token,
        );
        read = transfer.eggs.filter(({ clutch }) => clutch !== null).length;
      });
      return { read, statements: statements.length };
    };
    await of(two); // what is read once a process
    const few = await of(two);
    expect(few.read).toBe(2);
    expect(few.statements).toBeGreaterThan(3); // the count itself works
    expect(await of(four)).toEqual({ read: 4, statements: few.statements });
  });
});

describe('eggs for somebody without an account', () => {
  it('the paper says what it has to, the public page less; the record is taken up with the code and goes on there', async () => {
    const giver = await world.keeper('Giver');
    const { clutchId, dam, sire } = await clutchOf(giver);
    const offered = await test.get<{ offerTransfer: { claimCode: string; transfer: { id: string } } }>(
      'mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { claimCode transfer { id } } }',
      {
        input: {
          fromKeeperId: giver.keeperId,
          kind: 'gift',
          toOutsideParty: { name: 'Somebody at a show' },
          items: [],
          eggs: [{ clutchId, numbers: [2, 3, 4] }],
        },
      },
      giver.token,
    );
    const { claimCode, transfer } = offered.offerTransfer;
    const transferId = transfer.id;
    await done('acceptTransfer', { transferId }, giver);
    await done('sendTransfer', { transferId, sentOn: '2026-06-10', way: 'in_person' }, giver);
    const eggs = [
      { clutchId, numbers: [2, 3], state: 'well' },
      { clutchId, numbers: [4], state: 'refused' },
    ];
    await done('receiveTransfer', { transferId, receivedOn: '2026-06-10', items: [], eggs }, giver);

    const authorization = `Bearer ${giver.token}`;
    const printed = await test
      .http()
      .get(`/transfers/${transferId}/record.pdf`)
      .set({ authorization })
      .buffer(true)
      .parse((response, callback) => {
        const chunks: Buffer[] = [];
        response.on('data', (chunk: Buffer) => chunks.push(chunk));
        response.on('end', () => callback(null, Buffer.concat(chunks)));
      });
    expect(printed.status).toBe(200);
    const text = await pdfText(printed.body as Buffer);
    const registered = await world.db.animal.findMany({ where: { id: { in: [dam, sire] } } });
    const number = (id: string) => {
      const plain = registered.find((each) => each.id === id)?.registerNumber ?? '';
      return `${plain.slice(0, 3)}-${plain.slice(3, 6)}-${plain.slice(6)}`;
    };
    for (const part of [
      'eggs 2, 3, of a clutch of 5',
      '1 June 2026',
      'marked on eggs 2, 3',
      '28.5 °C',
      '6 to 8 days',
      `Dam ${number(dam)}, as claimed`,
      `Sire ${number(sire)}, as claimed`,
      'Bred by the giver, by the records of who owned the dam',
      'turning an egg of a reptile can kill the embryo',
      'the local authority decides',
      claimCode,
    ])
      expect(text).toContain(part);
    expect(text).not.toContain('Cellar');
    const paper = await world.db.recordPaper.findFirstOrThrow({ where: { transferId } });
    const { text: html } = await test.http().get(`/papers/${paper.checkCode}`);
    expect(html).toContain('eggs 2, 3 of a clutch');
    expect(html).toContain('<td>2026</td>');
    expect(html).toContain('No hatching and no loss is recorded.');
    for (const hidden of [number(dam), number(sire), '28.5', 'Giver']) expect(html).not.toContain(hidden);

    const buyer = await world.keeper('Buyer');
    expect(await readClutch(clutchId, buyer)).toBeNull();
    const candled = { clutchId, kind: 'candled', candling: 'fertile', eggs: [2] };
    expect(await breeding.refused(buyer, 'recordEggEvents', candled)).toMatchObject({ code: 'NOT_FOUND' });
    await done('takeUpTransfer', { claimCode, keeperId: buyer.keeperId }, buyer);
    const taken = await readClutch(clutchId, buyer);
    expect(taken?.eggs.map(({ own }) => own)).toEqual([false, true, true, false, false]);
    expect(taken?.events[0]).toEqual({ kind: 'incubated', incubator: null, celsius: 28.5 });
    await breeding.do(buyer, 'recordEggEvents', candled);
    expect(await breeding.refused(giver, 'recordEggEvents', candled)).toMatchObject({ rule: 'EGG_HANDED_ON' });
    const again = { claimCode, keeperId: giver.keeperId };
    expect(await refusal('takeUpTransfer', again, giver)).toMatchObject({ code: 'NOT_FOUND' });
    test.setDay('2026-08-01');
    const young = { clutchId, when: '2026-07-31', young: [{ eggNumber: 2 }] };
    const hatched = await breeding.do(buyer, 'recordHatchlings', young);
    const custody = await world.db.custody.findMany({ where: { animalId: hatched.young[0]?.id ?? '' } });
    expect(custody).toMatchObject([{ keeperId: buyer.keeperId, arrivedBy: 'born' }]);
    const later = await test.http().get(`/papers/${paper.checkCode}`);
    expect(later.text).toContain('Recorded as hatched: 1; as come to nothing: 0.');
    test.setDay('2026-06-10');
  });
});

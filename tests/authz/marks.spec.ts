import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { CHIPS_COME_UPON } from '../../libs/animal/core/mark-conflict.core.js';
import { addDays, dayOf } from '../../libs/kernel/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let taxon: string;
let keeper: TestKeeper;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  taxon = await world.taxon();
  keeper = await world.keeper('The keeper of the found one');
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

type Found = { markQuery: { known: boolean; reported: string } };
const ask = (who: TestKeeper | null, kind: string, value: string): Promise<Answer<Found>> =>
  test.ask(
    `query ($kind: MarkKind!, $value: String!) { markQuery(kind: $kind, value: $value) { known reported } }`,
    { kind, value },
    who?.token,
  );

const marked = (value: string, kind = 'transponder', who = keeper): Promise<string> =>
  world.animal(who, taxon, { marks: [{ kind, value }], since: '2026-01-01' });

const chip = (value: string) => ({ kind: 'transponder', value });

async function refused(name: string, input: object, who: TestKeeper) {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const mutation = `mutation ($input: ${type}!) { ${name}(input: $input) { __typename } }`;
  return (await test.ask(mutation, { input }, who.token)).errors?.[0]?.extensions;
}

async function recorded(input: object, who: TestKeeper): Promise<string> {
  const mutation = 'mutation ($input: RecordMarkInput!) { recordMark(input: $input) { mark { id } } }';
  return (await test.get<{ recordMark: { mark: { id: string } } }>(mutation, { input }, who.token)).recordMark.mark.id;
}

async function change(name: string, input: object, who = keeper): Promise<void> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  await test.get(`mutation ($input: ${type}!) { ${name}(input: $input) { __typename } }`, { input }, who.token);
}

describe('a question about a found mark', () => {
  it('says whether a record carries it and what is reported, and names nobody', async () => {
    const finder = await world.keeper('A finder');
    const [here, stolen] = ['985141000500001', '985141000500002'];
    await marked(here);
    const gone = await marked(stolen);
    await change('recordFate', { animalId: gone, fate: 'stolen' });
    await marked('DE-12 A', 'ring');
    const answers = [
      await ask(finder, 'transponder', '985 141 000 500 001'),
      await ask(finder, 'other_chip', stolen),
      await ask(finder, 'ring', 'de12a'),
      await ask(finder, 'tag', 'de12a'),
      await ask(finder, 'transponder', '985141000599999'),
    ];
    expect(answers.map(({ data }) => data?.markQuery)).toEqual([
      { known: true, reported: 'none' },
      { known: true, reported: 'stolen' },
      { known: true, reported: 'none' },
      { known: false, reported: 'none' },
      { known: false, reported: 'none' },
    ]);
    for (const answer of answers)
      for (const secret of [keeper.keeperId, gone, 'keeper']) expect(JSON.stringify(answer)).not.toContain(secret);
  });

  it('a test transponder, an ended mark and one taken back are not found', async () => {
    const finder = await world.keeper('A finder');
    const animalId = await marked('999000000000005');
    expect((await ask(finder, 'transponder', '999000000000005')).data?.markQuery.known).toBe(false);
    const value = '985141000500010';
    await change('recordMark', { animalId, kind: 'transponder', value });
    const { seriesId: markId } = await world.db.animalMark.findFirstOrThrow({ where: { value } });
    expect((await ask(finder, 'transponder', value)).data?.markQuery.known).toBe(true);
    await change('endMark', { markId, cause: 'removed' });
    expect((await ask(finder, 'transponder', value)).data?.markQuery.known).toBe(false);
  });

  it('is refused to who is not signed in, for kinds that are no number, and for what does not read', async () => {
    expect((await ask(null, 'transponder', '985141000500001')).errors?.[0]?.extensions.code).toBe('UNAUTHENTICATED');
    expect((await ask(keeper, 'feature', 'a tail')).errors?.[0]?.extensions.fields[0]?.path).toBe('input.kind');
    expect((await ask(keeper, 'transponder', '98514')).errors?.[0]?.extensions.fields[0]?.path).toBe('input.value');
  });

  it('is answered 20 times an hour, and then not, whatever is asked', async () => {
    const curious = await world.keeper('A curious one');
    const codes: (string | undefined)[] = [];
    for (let i = 0; i < 22; i++)
      codes.push((await ask(curious, 'transponder', `98514100060${String(1000 + i)}`)).errors?.[0]?.extensions.code);
    expect(codes.filter((code) => code === undefined)).toHaveLength(20);
    expect(codes.slice(20)).toEqual(['RATE_LIMITED', 'RATE_LIMITED']);
    expect((await ask(keeper, 'transponder', '985141000500001')).errors).toBeUndefined();
  });

  it('leaves word with the keeper, who does not learn of the finder, nor the finder of the keeper', async () => {
    const finder = await world.keeper('A shy finder');
    const value = '985141000500020';
    const animalId = await marked(value);
    const tell = (text: string) =>
      test.ask<{ tellKeeper: { told: boolean } }>(
        `mutation ($input: TellKeeperInput!) { tellKeeper(input: $input) { told } }`,
        { input: { kind: 'transponder', value: text, message: 'Sitting in our garden.' } },
        finder.token,
      );
    expect((await tell(value)).data?.tellKeeper).toEqual({ told: true });
    expect((await tell('985141000599998')).data?.tellKeeper).toEqual({ told: false });
    const notices = await world.db.notice.findMany({ where: { keeperId: keeper.keeperId, kind: 'mark_found' } });
    expect(notices).toHaveLength(1);
    const text = JSON.stringify(notices[0]);
    expect(text).toContain(animalId);
    expect(text).toContain('Sitting in our garden.');
    for (const secret of [finder.keeperId, finder.accountId, 'shy']) expect(text).not.toContain(secret);
    for (let i = 0; i < 3; i++) await tell(value);
    expect((await tell(value)).errors?.[0]?.extensions.code).toBe('RATE_LIMITED');
  });
});

describe('conflicts and histories of marks', () => {
  it('are seen by who has or owns the animal, by club-mates and past holders not', async () => {
    const [mate, other] = [await world.keeper('A mate'), await world.keeper('Another')];
    await world.club(keeper, mate);
    const value = '985141000500030';
    const animalId = await marked(value);
    await marked(value, 'transponder', other);
    const see = async (who: TestKeeper) =>
      (
        await test.ask<{
          animal: { markConflicts: object[] | null; markHistory: object | null; marks: object[] | null };
        }>(
          `query ($id: ID!) { animal(id: $id) { markConflicts { value } marks { value } markHistory(first: 5) { edges { node { reason } } } } }`,
          { id: animalId },
          who.token,
        )
      ).data?.animal;
    expect(await see(keeper)).toMatchObject({ markConflicts: [{ value }], marks: [{ value }] });
    expect(await see(mate)).toEqual({ markConflicts: null, marks: null, markHistory: null });
    expect(await see(other)).toBeUndefined();
  });

  it('what was ended or corrected after an animal left is not shown to who gave it away', async () => {
    const [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
    const animalId = await marked('AB 1', 'ring', giver);
    const { seriesId: markId } = await world.db.animalMark.findFirstOrThrow({ where: { animalId } });
    const send = async (name: string, input: object, who: TestKeeper) => change(name, input, who);
    const { offerTransfer } = await test.get<{ offerTransfer: { transfer: { id: string } } }>(
      `mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { transfer { id } } }`,
      { input: { fromKeeperId: giver.keeperId, toKeeperId: receiver.keeperId, kind: 'gift', items: [{ animalId }] } },
      giver.token,
    );
    const transferId = offerTransfer.transfer.id;
    const today = new Date().toISOString().slice(0, 10);
    await send('acceptTransfer', { transferId }, receiver);
    await send('sendTransfer', { transferId, sentOn: today }, giver);
    const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
    await send('receiveTransfer', { transferId, receivedOn: today, items }, receiver);
    await send('correctMark', { markId, value: 'AB 7', reason: 'Read again.' }, receiver);
    await send('endMark', { markId, cause: 'lost' }, receiver);
    await send('recordMark', { animalId, kind: 'tag', value: 'new' }, receiver);
    const { animal } = await test.get<{
      animal: {
        marks: object[];
        markHistory: { edges: { node: { reason: string | null; supersededAt: string | null } }[] };
      };
    }>(
      `query ($id: ID!) { animal(id: $id) { marks { value endCause } markHistory(first: 9) { edges { node { reason supersededAt } } } } }`,
      { id: animalId },
      giver.token,
    );
    expect(animal.marks).toEqual([{ value: 'AB 1', endCause: null }]);
    expect(animal.markHistory.edges.map(({ node }) => node)).toEqual([{ reason: null, supersededAt: null }]);
  });
});

describe('a chip that is recorded', () => {
  it('tells of other keepers’ numbers so often, and then no number is recorded for a day, known here or not', async () => {
    const [seeker, lotKeeper] = [await world.keeper('A seeker'), await world.keeper('Somebody else')];
    const [own, second] = [await world.animal(seeker, taxon), await world.animal(seeker, taxon)];
    const number = (i: number): string => String(985141000700000 + i);
    // Twice on animals of one’s own is nobody else’s.
    for (const animalId of [own, second]) await change('recordMark', { animalId, ...chip(number(99)) }, seeker);
    const theirs = Array.from({ length: CHIPS_COME_UPON }, (_, i) => chip(number(i)));
    for (const each of [theirs, [chip(number(50))]]) await world.animal(lotKeeper, taxon, { marks: each });
    for (const each of theirs.slice(1)) await change('recordMark', { animalId: own, ...each }, seeker);
    const marks = (of: object[]) => ({ keeperId: seeker.keeperId, taxonId: taxon, marks: of });
    await change('registerAnimal', marks(theirs.slice(0, 1)), seeker);
    const { registerLot } = await test.get<{ registerLot: { lot: { id: string } } }>(
      'mutation ($input: RegisterLotInput!) { registerLot(input: $input) { lot { id } } }',
      { input: { keeperId: seeker.keeperId, taxonId: taxon, count: 3 } },
      seeker.token,
    );
    const ring = await recorded({ animalId: own, kind: 'ring', value: 'DE-12 B' }, seeker);
    const doors = (value: string): [string, object][] => [
      ['recordMark', { animalId: own, ...chip(value) }],
      ['correctMark', { markId: ring, ...chip(value), reason: 'It is a chip.' }],
      ['registerAnimal', marks([chip(value)])],
      ['recordHatchlings', { keeperId: seeker.keeperId, taxonId: taxon, young: [{ marks: [chip(value)] }] }],
      ['raiseFromLot', { lotId: registerLot.lot.id, animals: [{ marks: [chip(value)] }] }],
    ];
    for (const value of [number(50), number(60)])
      for (const [name, input] of doors(value))
        expect({ name, ...(await refused(name, input, seeker)) }).toMatchObject({ name, code: 'RATE_LIMITED' });
    // What is no chip tells nothing, and others record theirs.
    await change('recordMark', { animalId: own, kind: 'ring', value: 'DE-12 C' }, seeker);
    const other = await world.animal(lotKeeper, taxon);
    await change('recordMark', { animalId: other, ...chip(number(61)) }, lotKeeper);
    test.setDay(addDays(dayOf(new Date()), 2));
    await change('recordMark', { animalId: own, ...chip(number(50)) }, seeker);
    test.setDay(null);
  });

  it('tells no more in one long list than one by one: what goes beyond is refused whole, and many with one number are one', async () => {
    const [seeker, others] = [await world.keeper('A lister'), await world.keeper('Many others')];
    const theirs = Array.from({ length: CHIPS_COME_UPON + 1 }, (_, i) => chip(String(985141000800000 + i)));
    for (const marks of [theirs.slice(0, 15), theirs.slice(15)]) await world.animal(others, taxon, { marks });
    const list = (of: object[]) => ({
      keeperId: seeker.keeperId,
      taxonId: taxon,
      young: [{ marks: of.slice(0, 15) }, { marks: of.slice(15) }],
    });
    expect(await refused('recordHatchlings', list(theirs), seeker)).toMatchObject({ code: 'RATE_LIMITED' });
    expect(await world.db.animalMark.count({ where: { recordedBy: seeker.accountId } })).toBe(0);
    await change('recordHatchlings', list(theirs.slice(1)), seeker);
    expect(await world.db.animalMark.count({ where: { recordedBy: seeker.accountId } })).toBe(CHIPS_COME_UPON);

    const one = await world.keeper('Who has the number of many');
    const shared = chip('985141000899999');
    for (let i = 0; i <= CHIPS_COME_UPON; i++) await world.animal(others, taxon, { marks: [shared] });
    const own = await world.animal(one, taxon);
    for (const mark of [shared, chip('985141000899998')]) await change('recordMark', { animalId: own, ...mark }, one);
  });

  it('tells no more where chips are recorded of a dead animal, and the death is taken back', async () => {
    const [seeker, others] = [await world.keeper('A mourner'), await world.keeper('Others yet')];
    const theirs = Array.from({ length: CHIPS_COME_UPON + 1 }, (_, i) => chip(String(985141000600000 + i)));
    for (const marks of [theirs.slice(0, 15), theirs.slice(15)]) await world.animal(others, taxon, { marks });
    const dead: string[] = [];
    for (const marks of [theirs.slice(0, 1), theirs.slice(1, 11), theirs.slice(11)]) {
      const animalId = await world.animal(seeker, taxon, { since: '2026-01-01' });
      await change('recordDeath', { animalId }, seeker);
      for (const mark of marks) await change('recordMark', { animalId, ...mark }, seeker);
      dead.push(animalId);
    }
    const takenBack = (animalId: string) => ({ animalId, takeBack: true, reason: 'It lives.' });
    for (const animalId of dead.slice(1)) await change('correctFate', takenBack(animalId), seeker);
    expect(await refused('correctFate', takenBack(dead[0] ?? ''), seeker)).toMatchObject({ code: 'RATE_LIMITED' });
  });
});

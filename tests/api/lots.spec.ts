import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { Clock } from '../../libs/platform/clock.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let taxon: string;
let anna: TestKeeper;
let ben: TestKeeper;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  taxon = await world.taxon();
  [anna, ben] = [await world.keeper('Anna'), await world.keeper('Ben')];
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

async function mutate<T>(who: TestKeeper, name: string, input: object, fields: string): Promise<T> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const answer = await test.get<Record<string, T>>(
    `mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`,
    { input },
    who.token,
  );
  return answer[name] as T;
}

async function refusal(who: TestKeeper, name: string, input: object) {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const { errors } = await test.ask(
    `mutation ($input: ${type}!) { ${name}(input: $input) { __typename } }`,
    { input },
    who.token,
  );
  return errors?.[0]?.extensions ?? null;
}

/** Noon of a day, a millisecond later each time it is asked: what is recorded one after the other on a day has an order. */
let ticks = 0;
function tickOn(day: string): void {
  const noon = Date.parse(`${day}T12:00:00Z`);
  test.app.get(Clock, { strict: false }).now = () => new Date(noon + ++ticks);
}

type Joined = {
  lot: { count: number; countEstimated: boolean; birth: { edtf: string } | null };
  warnings: { code: string }[];
};
const JOINED = 'lot { count countEstimated birth { edtf } } warnings { code }';
type Raised = {
  lot: { count: number };
  animals: { id: string; name: string | null; sex: string }[];
  warnings: { code: string }[];
};
const RAISED = 'lot { count } animals { id name sex } warnings { code }';

type Book = { opening: number; arrived: number; departed: number; closing: number; unaccounted: number };
const BOOK = 'opening arrived departed closing unaccounted';
async function book(who: TestKeeper, from: string, asOf: string): Promise<Book> {
  const { stockBook } = await test.get<{ stockBook: Book }>(
    `query ($k: ID!, $from: Day!, $asOf: Day!) { stockBook(keeperId: $k, from: $from, asOf: $asOf) { ${BOOK} } }`,
    { k: who.keeperId, from, asOf },
    who.token,
  );
  return stockBook;
}

/** The whole book, and the two parts of it that end and begin at a day, in one request. */
function books(who: TestKeeper, from: string, middle: string, after: string, asOf: string) {
  return test.get<{ whole: Book; early: Book; late: Book }>(
    `query ($k: ID!, $from: Day!, $middle: Day!, $after: Day!, $asOf: Day!, $end: Day!) {
       whole: stockBook(keeperId: $k, from: $from, asOf: $asOf) { ${BOOK} }
       early: stockBook(keeperId: $k, from: $from, asOf: $middle) { ${BOOK} }
       late: stockBook(keeperId: $k, from: $after, asOf: $end) { ${BOOK} } }`,
    { k: who.keeperId, from, middle, after, asOf, end: asOf < after ? after : asOf },
    who.token,
  );
}

describe('two lots become one', () => {
  const may = { birth: { edtf: '2026-05-03', manner: 'hatched' } };

  it('of the same parents and birth: nothing is lost but the second record', async () => {
    const dam = await world.animal(anna, taxon, { sex: 'female' });
    const into = await world.lot(anna, taxon, 10, { ...may, damId: dam });
    const from = await world.lot(anna, taxon, 4, { ...may, damId: dam, estimated: true });
    const joined = await mutate<Joined>(anna, 'joinLots', { fromLotId: from, intoLotId: into }, JOINED);
    expect(joined).toEqual({ lot: { count: 14, countEstimated: true, birth: { edtf: '2026-05-03' } }, warnings: [] });
    expect(await world.db.animal.findUnique({ where: { id: from } })).toMatchObject({ count: 0 });
    expect(await world.db.parentageClaim.count({ where: { childId: into, supersededAt: null } })).toBe(1);
    expect(await refusal(anna, 'joinLots', { fromLotId: from, intoLotId: into })).toMatchObject({
      rule: 'ANIMAL_NOT_ALIVE',
    });
  });

  it('of other parents, birth and origin: what they do not say alike becomes unknown, with a warning', async () => {
    const [damA, damB] = [
      await world.animal(anna, taxon, { sex: 'female' }),
      await world.animal(anna, taxon, { sex: 'female' }),
    ];
    const into = await world.lot(anna, taxon, 3, { ...may, damId: damA, originClass: 'bred' });
    const from = await world.lot(anna, taxon, 2, { birth: { edtf: '2026-04', manner: 'hatched' }, damId: damB });
    const joined = await mutate<Joined>(anna, 'joinLots', { fromLotId: from, intoLotId: into }, JOINED);
    expect(joined.lot).toMatchObject({ count: 5, birth: { edtf: '2026-04-01/2026-05-03' } });
    expect(joined.warnings.map(({ code }) => code).sort()).toEqual([
      'LOT_JOIN_BIRTH_UNKNOWN',
      'LOT_JOIN_DAM_UNKNOWN',
      'LOT_JOIN_ORIGIN_UNKNOWN',
    ]);
    expect(await world.db.parentageClaim.count({ where: { childId: into, supersededAt: null } })).toBe(0);
  });

  it('is refused between keepers and taxa, and hidden from strangers', async () => {
    const mine = await world.lot(anna, taxon, 3);
    const theirs = await world.lot(ben, taxon, 3);
    expect(await refusal(anna, 'joinLots', { fromLotId: mine, intoLotId: theirs })).toMatchObject({
      code: 'NOT_FOUND',
    });
    const other = await world.lot(anna, await world.taxon(), 3);
    expect(await refusal(anna, 'joinLots', { fromLotId: mine, intoLotId: other })).toMatchObject({
      rule: 'LOT_JOIN_OTHER_TAXON',
    });
    const single = await world.animal(anna, taxon);
    expect(await refusal(anna, 'joinLots', { fromLotId: mine, intoLotId: single })).toMatchObject({
      rule: 'NOT_A_LOT',
    });
    expect(await refusal(anna, 'joinLots', { fromLotId: mine, intoLotId: mine })).toMatchObject({
      rule: 'LOT_JOIN_SELF',
    });
  });
});

describe('individuals out of a lot', () => {
  it('keep parents, birth, holder, owner, access, documents and quarantine; a chip in use is warned of', async () => {
    test.setDay('2026-06-01');
    const dam = await world.animal(anna, taxon, { sex: 'female' });
    const lot = await world.lot(anna, taxon, 6, { damId: dam, birth: { edtf: '2026-05', manner: 'hatched' } });
    const { document } = await mutate<{ document: { id: string } }>(
      anna,
      'recordDocument',
      {
        keeperId: anna.keeperId,
        kind: 'certificate',
        number: 'C 1',
        authority: 'An office',
        jurisdiction: 'DE',
        covers: [{ animalId: lot }],
      },
      'document { id }',
    );
    await mutate(
      anna,
      'openQuarantine',
      { keeperId: anna.keeperId, animalIds: [lot], enteredOn: '2026-06-01' },
      '__typename',
    );
    test.setDay('2026-06-10');
    const number = '985141000777001';
    await world.animal(ben, taxon, { marks: [{ kind: 'transponder', value: number }] });
    const raised = await mutate<Raised>(
      anna,
      'raiseFromLot',
      { lotId: lot, animals: [{ name: 'One', sex: 'male', marks: [{ kind: 'transponder', value: number }] }, {}] },
      RAISED,
    );
    expect(raised.lot.count).toBe(4);
    expect(raised.animals.map(({ name, sex }) => [name, sex])).toEqual([
      ['One', 'male'],
      [null, 'unknown'],
    ]);
    expect(raised.warnings).toEqual([{ code: 'MARK_CONFLICT' }]);
    const ids = raised.animals.map(({ id }) => id);
    for (const id of ids) {
      expect(
        await world.db.parentageClaim.findFirst({ where: { childId: id }, include: { candidates: true } }),
      ).toMatchObject({
        role: 'dam',
        candidates: [{ parentId: dam }],
      });
      expect(await world.db.animal.findUnique({ where: { id } })).toMatchObject({ birthEdtf: '2026-05', count: 1 });
      expect(await world.db.documentCover.count({ where: { documentId: document.id, animalId: id } })).toBe(1);
      const [stay] = await world.db.quarantineEntry.findMany({ where: { animalId: id } });
      // The days already served count: it was there.
      expect(stay).toMatchObject({ enteredOn: new Date('2026-06-01'), leftOn: null });
      const { animal } = await test.get<{ animal: { holder: { keeperId: string } } }>(
        `query ($id: ID!) { animal(id: $id) { holder { keeperId } } }`,
        { id },
        anna.token,
      );
      expect(animal.holder.keeperId).toBe(anna.keeperId);
    }
    expect(await world.db.quarantineGroup.count({ where: { keeperId: anna.keeperId } })).toBe(1);
    test.setDay(null);
  });

  it('a split in quarantine stays in quarantine, and two lots are not joined across its border', async () => {
    test.setDay('2026-07-01');
    const kept = await world.lot(ben, taxon, 5);
    const apart = await world.lot(ben, taxon, 5);
    await mutate(
      ben,
      'openQuarantine',
      { keeperId: ben.keeperId, animalIds: [apart], enteredOn: '2026-07-01' },
      '__typename',
    );
    test.setDay('2026-07-05');
    const { newLot } = await mutate<{ newLot: { id: string } }>(
      ben,
      'splitLot',
      { lotId: apart, count: 2 },
      'newLot { id }',
    );
    expect(await world.db.quarantineEntry.findMany({ where: { animalId: newLot.id } })).toMatchObject([
      { enteredOn: new Date('2026-07-01'), leftOn: null },
    ]);
    expect(await refusal(ben, 'joinLots', { fromLotId: kept, intoLotId: apart })).toMatchObject({
      rule: 'LOT_JOIN_QUARANTINE',
    });
    expect(await refusal(ben, 'joinLots', { fromLotId: newLot.id, intoLotId: kept })).toMatchObject({
      rule: 'LOT_JOIN_QUARANTINE',
    });
    const back = await mutate<Joined>(ben, 'joinLots', { fromLotId: newLot.id, intoLotId: apart }, JOINED);
    expect(back.lot.count).toBe(5);
    expect(await world.db.quarantineEntry.count({ where: { animalId: newLot.id, leftOn: null } })).toBe(0);
    test.setDay(null);
  });

  it('the last ones end the lot', async () => {
    const lot = await world.lot(anna, taxon, 2);
    const raised = await mutate<Raised>(anna, 'raiseFromLot', { lotId: lot, animals: [{}, {}] }, RAISED);
    expect(raised.lot.count).toBe(0);
    expect(await world.db.custody.findFirst({ where: { animalId: lot, supersededAt: null } })).toMatchObject({
      leftBy: 'raised',
    });
    expect(await refusal(anna, 'raiseFromLot', { lotId: lot, animals: [{}] })).toMatchObject({
      rule: 'CUSTODY_NOT_OPEN',
    });
    expect(await refusal(anna, 'raiseFromLot', { lotId: lot, animals: [] })).toMatchObject({ code: 'INVALID_INPUT' });
  });
});

describe('a lot that shrinks and grows', () => {
  it('loses some in every way, finds some again, and is counted anew with the difference shown', async () => {
    test.setDay('2026-08-20');
    const keeper = await world.keeper('Cara');
    const lot = await world.lot(keeper, taxon, 20, { since: '2026-08-01' });
    const of = (count: number, more: object = {}) => ({ lotId: lot, count, ...more });
    const LOT = 'lot { count countEstimated }';
    for (const cause of ['died', 'missing', 'stolen', 'escaped'])
      await mutate(keeper, 'loseFromLot', of(2, { cause, on: '2026-08-10' }), LOT);
    expect(await refusal(keeper, 'findInLot', of(7))).toMatchObject({ rule: 'LOT_FOUND_TOO_MANY' });
    await mutate(keeper, 'findInLot', of(5, { on: '2026-08-12' }), LOT);
    const counted = await mutate(
      keeper,
      'recountLot',
      of(15, { estimated: true, reason: 'Counted from a photo.' }),
      LOT,
    );
    expect(counted).toEqual({ lot: { count: 15, countEstimated: true } });
    expect(await book(keeper, '2026-08-01', '2026-08-20')).toEqual({
      opening: 0,
      arrived: 25,
      departed: 8,
      closing: 15,
      unaccounted: -2,
    });
    expect(await refusal(keeper, 'loseFromLot', of(15, { cause: 'escaped' }))).toMatchObject({
      rule: 'LOT_LOSS_TAKES_ALL',
    });
    expect(await refusal(keeper, 'loseFromLot', of(99, { cause: 'died' }))).toMatchObject({ rule: 'LOT_TOO_SMALL' });
    expect(await refusal(keeper, 'recountLot', of(15, { estimated: true, reason: 'Again.' }))).toMatchObject({
      rule: 'LOT_COUNT_SAME',
    });
    expect(await refusal(ben, 'recountLot', of(3, { reason: 'x' }))).toMatchObject({ code: 'NOT_FOUND' });
    test.setDay(null);
  });
});

describe('random histories', () => {
  type Record = { id: string; kind: 'lot' | 'individual'; count: number; owner: number; there: boolean; away: number };
  const step = fc.record({
    op: fc.constantFrom(
      'register',
      'split',
      'join',
      'lose',
      'find',
      'recount',
      'raise',
      'vanish',
      'return',
      'give',
      'die',
    ),
    a: fc.nat(1_000_000),
    b: fc.nat(1_000_000),
  });

  it('opening + in − out = closing at every step, for every lot and keeper, and what is unaccounted is the recounts', async () => {
    let done = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(step, { minLength: 14, maxLength: 22 }), async (steps) => {
        const keepers = [await world.keeperInRows('X'), await world.keeperInRows('Y')] as const;
        const records: Record[] = [];
        const recounted = [0, 0];
        let day = 1;
        const date = (n: number): string => new Date(Date.UTC(2026, 0, n)).toISOString().slice(0, 10);
        const keeperOf = (record: Record): TestKeeper => keepers[record.owner] as TestKeeper;
        const pick = (n: number, fits: (record: Record) => boolean): Record | undefined => {
          const some = records.filter(fits);
          return some[n % Math.max(1, some.length)];
        };
        const isLot = (r: Record): boolean => r.kind === 'lot' && r.there && r.count > 1;

        for (const { op, a, b } of [{ op: 'register', a: 0, b: 7 } as (typeof steps)[number], ...steps]) {
          day += a % 3;
          tickOn(date(day));
          const record = pick(a, isLot);
          const some = record === undefined ? 0 : 1 + (b % (record.count - 1));
          const lot = record === undefined ? undefined : { lotId: record.id, count: some };
          const who = record === undefined ? keepers[0] : keeperOf(record);
          if (op === 'register') {
            const owner = a % 2;
            const id = await world.lot(keepers[owner] as TestKeeper, taxon, 3 + (b % 9));
            records.push({ id, kind: 'lot', count: 3 + (b % 9), owner, there: true, away: 0 });
          } else if (op === 'vanish' || op === 'return' || op === 'die') {
            const one = pick(b, (r) => r.count > 0 && (op === 'return' ? !r.there : r.there));
            if (one === undefined) continue;
            if (op === 'die') {
              const count = one.kind === 'lot' ? { count: one.count } : {};
              await mutate(keeperOf(one), 'recordDeath', { animalId: one.id, ...count }, '__typename');
              one.count = 0;
            } else {
              const fate = op === 'return' ? 'found' : (['missing', 'escaped', 'seized'] as const)[b % 3];
              await mutate(keeperOf(one), 'recordFate', { animalId: one.id, fate }, '__typename');
              one.there = op === 'return';
            }
          } else if (record === undefined || lot === undefined) continue;
          else if (op === 'split') {
            const { newLot } = await mutate<{ newLot: { id: string } }>(who, 'splitLot', lot, 'newLot { id }');
            record.count -= some;
            records.push({ ...record, id: newLot.id, count: some, away: 0 });
          } else if (op === 'join') {
            const other = pick(b, (r) => isLot(r) && r.owner === record.owner && r.id !== record.id);
            if (other === undefined) continue;
            await mutate(who, 'joinLots', { fromLotId: record.id, intoLotId: other.id }, '__typename');
            other.count += record.count;
            record.count = 0;
          } else if (op === 'lose') {
            const cause = ['died', 'missing', 'stolen', 'escaped'][b % 4] ?? 'died';
            await mutate(who, 'loseFromLot', { ...lot, cause }, '__typename');
            record.count -= some;
            if (cause !== 'died') record.away += some;
          } else if (op === 'find') {
            if (record.away === 0) continue;
            const back = 1 + (b % record.away);
            await mutate(who, 'findInLot', { lotId: record.id, count: back }, '__typename');
            record.count += back;
            record.away -= back;
          } else if (op === 'recount') {
            const count = record.count + (b % 2 === 0 ? 1 : -1);
            await mutate(
              who,
              'recountLot',
              { lotId: record.id, count, reason: 'Counted.', estimated: b % 3 === 0 },
              '__typename',
            );
            recounted[record.owner] = (recounted[record.owner] ?? 0) + count - record.count;
            record.count = count;
          } else if (op === 'raise') {
            const animals = Array.from({ length: 1 + (b % 2) }, () => ({}));
            const raised = await mutate<Raised>(who, 'raiseFromLot', { lotId: record.id, animals }, RAISED);
            record.count -= animals.length;
            for (const { id } of raised.animals) records.push({ ...record, id, kind: 'individual', count: 1, away: 0 });
          } else {
            const to = 1 - record.owner;
            const receiver = keepers[to] as TestKeeper;
            const offer = {
              fromKeeperId: who.keeperId,
              toKeeperId: receiver.keeperId,
              kind: 'gift',
              items: [{ animalId: record.id }],
            };
            const { transfer } = await mutate<{ transfer: { id: string } }>(
              who,
              'offerTransfer',
              offer,
              'transfer { id }',
            );
            const transferId = transfer.id;
            await mutate(receiver, 'acceptTransfer', { transferId }, '__typename');
            await mutate(who, 'sendTransfer', { transferId, sentOn: date(day) }, '__typename');
            const items = [{ animalId: record.id, arrivals: [{ state: 'well', count: record.count }] }];
            await mutate(receiver, 'receiveTransfer', { transferId, receivedOn: date(day), items }, '__typename');
            record.owner = to;
            // A quarantine of the receiver begins; it follows the lot, and is not what is counted here.
            await world.db.quarantineEntry.updateMany({
              where: { animalId: record.id, leftOn: null },
              data: { leftOn: new Date(date(day)) },
            });
          }

          for (const [owner, keeper] of keepers.entries()) {
            const held = records.filter((r) => r.owner === owner && r.there).reduce((sum, r) => sum + r.count, 0);
            const middle = 1 + (b % day);
            const { whole, early, late } = await books(keeper, date(1), date(middle), date(middle + 1), date(day));
            expect({ op, ...whole }).toMatchObject({ opening: 0, closing: held, unaccounted: recounted[owner] });
            expect(late.opening).toBe(early.closing);
            expect(late.opening + late.arrived - late.departed + late.unaccounted).toBe(late.closing);
          }
          const rows = await world.db.animal.findMany({ where: { id: { in: records.map(({ id }) => id) } } });
          const counts = new Map(rows.map((row) => [row.id, row.count]));
          expect(records.map(({ id }) => counts.get(id))).toEqual(records.map(({ count }) => count));
          done++;
        }
      }),
      { numRuns: 8, endOnFailure: true },
    );
    test.setDay(null);
    // Steps that did something; without this the property could pass by doing nothing.
    expect(done).toBeGreaterThan(60);
  }, 180_000);
});

it('a join and a split of one lot at once come one after the other, and the counts stay in balance', async () => {
  const [from, into] = [await world.lot(anna, taxon, 6), await world.lot(anna, taxon, 4)];
  const both = await Promise.allSettled([
    mutate(anna, 'joinLots', { fromLotId: from, intoLotId: into }, '__typename'),
    mutate(anna, 'splitLot', { lotId: from, count: 2 }, '__typename'),
    mutate(anna, 'joinLots', { fromLotId: into, intoLotId: from }, '__typename'),
  ]);
  expect(both.some(({ status }) => status === 'fulfilled')).toBe(true);
  const changes = await world.db.lotChange.groupBy({
    by: ['lotId'],
    where: { lotId: { in: [from, into] } },
    _sum: { delta: true },
  });
  for (const { lotId, _sum } of changes)
    expect((await world.db.animal.findUniqueOrThrow({ where: { id: lotId } })).count).toBe(_sum.delta);
});

import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { registerAllStock, type StockToRegister } from '../../libs/custody/index.js';
import { day, decide } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { statementsOf } from '../support/query-count.js';
import { askRegion, type CountAnswer, readRegion } from '../support/region-query.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const HELD_SINCE = day('2024-01-01');
const SINCE = '2026-03-01';
const PAST = '2026-04-01';
const TODAY = '2026-06-10';
const HERE = 'XA-NO';
const THERE = 'XA-SO';

const AUDIENCES = ['nobody', 'coordinator', 'club'] as const;
const REGIONS = [HERE, THERE, null] as const;
/** First and last-but-one day of membership; null = never a member. */
const MEMBERSHIPS = {
  member: { joined: '2025-01-01', left: null },
  'joined before the past day': { joined: '2026-03-20', left: null },
  'joined after the past day': { joined: '2026-05-01', left: null },
  'left between the days': { joined: '2025-01-01', left: '2026-05-01' },
  'left within the span': { joined: '2025-01-01', left: '2026-03-15' },
  'left before': { joined: '2025-01-01', left: '2026-02-01' },
  'left on the first day': { joined: '2025-01-01', left: SINCE },
  'joined today': { joined: TODAY, left: null },
  never: null,
} as const;

type Stock = { readonly taxonId: string; readonly male: number; readonly female: number; readonly lot: number };
type SmallKeeper = {
  readonly id: string;
  readonly audience: (typeof AUDIENCES)[number];
  readonly region: (typeof REGIONS)[number];
  readonly membership: { readonly joined: string; readonly left: string | null } | null;
  readonly stock: readonly Stock[];
};

/** Offices of a viewer, as the design names them, and what each may ask: region and taxon (null = all taxa). */
const ROLES = {
  'this region': (region: string) => region === HERE,
  'other region': (region: string) => region === THERE,
  'this region, one taxon': (region: string, taxon: string | null) => region === HERE && taxon === 'first',
  'one taxon everywhere': (_: string, taxon: string | null) => taxon === 'first',
  everything: () => true,
  'ended yesterday': () => false,
  'begins tomorrow': () => false,
  'first day today': (region: string) => region === HERE,
  'other club': () => false,
  'member without office': () => false,
  stranger: () => false,
} as const;
type Role = keyof typeof ROLES;

let test: TestApp;
let world: RegistryWorld;
let clubId: string;
let otherClubId: string;
let first: string;
let second: string;
const keepers: SmallKeeper[] = [];
const viewers = new Map<Role, TestKeeper>();

async function addKeeper(keeper: SmallKeeper): Promise<void> {
  const { id, audience, region, membership } = keeper;
  await world.db.keeper.create({
    data: { id, name: 'Keeper', kind: 'person', region, holdingsShown: audience, createdAt: new Date() },
  });
  if (membership !== null)
    await world.db.clubMember.create({
      data: {
        clubId,
        keeperId: id,
        joinedOn: new Date(membership.joined),
        leftOn: membership.left === null ? null : new Date(membership.left),
      },
    });
}

async function addStock(of: readonly SmallKeeper[]): Promise<void> {
  const uow = new UnitOfWork(world.db, new Clock());
  for (const taxonId of [first, second]) {
    const rows = of.flatMap((keeper) =>
      keeper.stock.filter((each) => each.taxonId === taxonId).flatMap((each) => rowsOf(keeper.id, each)),
    );
    await uow.writeAsServer(null, async (tx) => decide(await registerAllStock(tx, taxonId, rows)));
  }
}

function rowsOf(keeperId: string, { taxonId, male, female, lot }: Stock): StockToRegister[] {
  const row = (count: number | null, sex: 'male' | 'female' | null): StockToRegister => ({
    id: uuid(),
    animal: {
      kind: count === null ? 'individual' : 'lot',
      taxonId,
      lineId: null,
      count: count ?? 1,
      countEstimated: false,
      keeperId,
      on: HELD_SINCE,
      facts: sex === null ? [] : [{ fact: { kind: 'sex', body: { sex } }, when: null }],
      marks: [],
    },
    parents: [],
    holder: { kind: 'keeper', keeperId },
    from: HELD_SINCE,
    arrivedBy: 'registered',
    ended: null,
    owners: [{ owner: { kind: 'keeper', keeperId }, parts: 1 }],
  });
  return [
    ...Array.from({ length: male }, () => row(null, 'male')),
    ...Array.from({ length: female }, () => row(null, 'female')),
    ...(lot > 0 ? [row(lot, null)] : []),
  ];
}

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  test.setDay(TODAY);
  [first, second] = [await world.taxon(), await world.taxon()];
  [clubId, otherClubId] = [await world.club(), await world.club()];
  for (const audience of AUDIENCES)
    for (const region of REGIONS)
      for (const membership of Object.values(MEMBERSHIPS)) {
        const n = keepers.length;
        // Counts differ from keeper to keeper, so that one taken for another shows.
        const stock = [
          { taxonId: first, male: n % 3, female: (n >> 1) % 3, lot: 100 + n * n },
          { taxonId: second, male: (n >> 2) % 2, female: 1, lot: n % 2 === 0 ? 7 * n : 0 },
        ];
        keepers.push({ id: uuid(), audience, region, membership, stock });
      }
  for (const keeper of keepers) await addKeeper(keeper);
  await addStock(keepers);

  const office = async (role: Role, more: object | null): Promise<void> => {
    const viewer = await world.keeper(role);
    viewers.set(role, viewer);
    if (role !== 'stranger')
      await world.db.clubMember.create({
        data: { clubId, keeperId: viewer.keeperId, joinedOn: new Date('2025-01-01') },
      });
    if (more === null) return;
    const term = { validFrom: new Date('2025-01-01'), validTo: null };
    await world.db.office.create({ data: { id: uuid(), clubId, accountId: viewer.accountId, ...term, ...more } });
  };
  await office('this region', { region: HERE });
  await office('other region', { region: THERE });
  await office('this region, one taxon', { region: HERE, taxonId: first });
  await office('one taxon everywhere', { taxonId: first });
  await office('everything', {});
  await office('ended yesterday', { region: HERE, validTo: new Date(TODAY) });
  await office('begins tomorrow', { region: HERE, validFrom: new Date('2026-06-11') });
  await office('first day today', { region: HERE, validFrom: new Date(TODAY), validTo: new Date('2026-06-11') });
  await office('other club', { clubId: otherClubId });
  await office('member without office', null);
  await office('stranger', null);
});
afterAll(async () => {
  await world.close();
  await test.close();
});

type Expected = Pick<CountAnswer, 'opening' | 'arrivals' | 'departures' | 'closing' | 'sexes' | 'keepers'>;

/** What the design says, from the list of keepers alone: who is shown, where, and a member on which day. */
function policy(region: string, taxonId: string | null, since: string, asOf: string): Expected {
  const before = new Date(Date.parse(since) - 86_400_000).toISOString().slice(0, 10);
  const shown = keepers.filter((keeper) => keeper.audience !== 'nobody' && keeper.region === region);
  const isMember = ({ membership }: SmallKeeper, on: string): boolean =>
    membership !== null && membership.joined <= on && (membership.left === null || on < membership.left);
  const stocks = (of: SmallKeeper[]): Stock[] =>
    of.flatMap((keeper) => keeper.stock.filter((each) => taxonId === null || each.taxonId === taxonId));
  const sum = (of: SmallKeeper[]): number =>
    stocks(of).reduce((total, { male, female, lot }) => total + male + female + lot, 0);
  const now = shown.filter((keeper) => isMember(keeper, asOf));
  const then = shown.filter((keeper) => isMember(keeper, before));
  const total = (key: 'male' | 'female' | 'lot'): number => stocks(now).reduce((count, stock) => count + stock[key], 0);
  const within = (on: string | null | undefined): boolean => typeof on === 'string' && since <= on && on <= asOf;
  return {
    opening: sum(then),
    arrivals: sum(shown.filter(({ membership }) => within(membership?.joined))),
    departures: sum(shown.filter(({ membership }) => within(membership?.left))),
    closing: sum(now),
    sexes: `${total('male')}.${total('female')}.${total('lot')}`,
    keepers: now.filter((keeper) => sum([keeper]) > 0).length,
  };
}

describe('what a coordinator is told agrees with the policy', () => {
  const tokenOf = (role: Role): string => {
    const viewer = viewers.get(role);
    if (viewer === undefined) throw new Error(`The world has no ${role}`);
    return viewer.token;
  };

  it('over a world in which every audience, region and membership has animals', () => {
    expect(keepers).toHaveLength(81);
    const { closing, opening, arrivals, departures } = policy(HERE, null, SINCE, TODAY);
    expect([closing, opening, arrivals, departures].every((count) => count > 0)).toBe(true);
  });

  it.each(Object.keys(ROLES) as Role[])('%s', async (role) => {
    for (const region of [HERE, THERE, 'XA-WE'])
      for (const [name, taxonId] of Object.entries({ first, second, all: null }))
        for (const asOf of [PAST, TODAY]) {
          const args = { clubId, region, since: SINCE, asOf, taxonId };
          const asked = { role, region, name, asOf };
          if (ROLES[role](region, name === 'all' ? null : name)) {
            const { total } = await readRegion(test, args, tokenOf(role));
            expect({ ...asked, ...total }).toMatchObject({
              ...asked,
              ...policy(region, taxonId, SINCE, asOf),
              births: 0,
              deaths: 0,
              unaccounted: 0,
            });
          } else {
            const refused = await askRegion(test, args, tokenOf(role));
            const nowhere = await askRegion(test, { ...args, clubId: uuid() }, tokenOf(role));
            // All but the stranger are of the club, and see that it is there; to others it is as one that is not.
            const code = role === 'stranger' ? 'NOT_FOUND' : 'FORBIDDEN';
            expect({ ...asked, code: refused.errors?.[0]?.extensions.code }).toEqual({ ...asked, code });
            if (code === 'NOT_FOUND') expect(refused.errors?.[0]?.message).toBe(nowhere.errors?.[0]?.message);
            expect(refused.data).toEqual(nowhere.data);
          }
        }
  });

  it('a club that is not there costs the same statements as one that is', async () => {
    const args = { clubId, region: HERE, since: SINCE, asOf: TODAY };
    const statements = async (id: string) =>
      statementsOf(() => askRegion(test, { ...args, clubId: id }, tokenOf('other region')));
    expect(await statements(clubId)).toEqual(await statements(uuid()));
  });

  it('nobody who is not signed in', async () => {
    const { errors } = await askRegion(test, { clubId, region: HERE, since: SINCE, asOf: TODAY });
    expect(errors?.[0]?.extensions.code).toBe('UNAUTHENTICATED');
  });

  it('a keeper who shows holdings to nobody changes nothing in the answer; shown, they would', async () => {
    const args = { clubId, region: HERE, since: SINCE, asOf: TODAY };
    const before = await readRegion(test, args, tokenOf('everything'));
    const hidden: SmallKeeper = {
      id: uuid(),
      audience: 'nobody',
      region: HERE,
      membership: MEMBERSHIPS.member,
      stock: [
        { taxonId: first, male: 2, female: 3, lot: 40 },
        { taxonId: second, male: 1, female: 0, lot: 0 },
      ],
    };
    await addKeeper(hidden);
    await addStock([hidden]);
    expect(await readRegion(test, args, tokenOf('everything'))).toEqual(before);
    await world.db.keeper.update({ where: { id: hidden.id }, data: { holdingsShown: 'coordinator' } });
    const shown = await readRegion(test, args, tokenOf('everything'));
    expect(shown.total.closing).toBe(before.total.closing + 46);
    expect(shown.taxa.edges[0]?.node.genetics.size).not.toBe(before.taxa.edges[0]?.node.genetics.size);
    await world.db.keeper.update({ where: { id: hidden.id }, data: { holdingsShown: 'nobody' } });
    expect(await readRegion(test, args, tokenOf('everything'))).toEqual(before);
  });
});

import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { MinorWorld } from '../support/minor-world.js';
import { type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: MinorWorld;
let registrar: TestKeeper;
let member: TestKeeper;
let seeker: TestKeeper;
let taxonId: string;
let clubId: string;
let slug: string;

beforeAll(async () => {
  test = await startTestApp();
  world = new MinorWorld(test);
  [registrar, member, seeker] = [
    await world.keeper('Registrar'),
    await world.keeper('Member'),
    await world.keeper('Seeker'),
  ];
  taxonId = await world.taxon();
  [clubId, slug] = await club('Newts of the north', registrar, member);
});
afterAll(async () => {
  await world.close();
  await test.close();
});

async function club(name: string, ...members: TestKeeper[]): Promise<[string, string]> {
  const short = await world.clubSlug(...members);
  const { id } = await world.db.club.update({ where: { slug: short }, data: { name } });
  const accountId = members[0]?.accountId ?? '';
  await world.db.office.create({ data: { id: uuid(), clubId: id, accountId, validFrom: new Date('2026-01-01') } });
  return [id, short];
}

const wrong = (answer: { errors?: readonly { extensions: { rule?: string; code: string } }[] }) =>
  answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code;
const FIELDS = 'slug name listed region admission taxa { id }';
const list = (input: object, who = registrar, id = clubId) =>
  world.run('setClubListing', { clubId: id, ...input }, who, `club { ${FIELDS} }`);
type Page = { clubs: { edges: { node: { slug: string }; cursor: string }[]; pageInfo: { hasNextPage: boolean } } };
const find = (args: string, who: TestKeeper | null = seeker) =>
  test.ask<Page>(`{ clubs(${args}) { edges { cursor node { ${FIELDS} } } pageInfo { hasNextPage } } }`, {}, who?.token);
const found = async (args: string): Promise<string[]> =>
  ((await find(args)).data?.clubs.edges ?? []).map(({ node }) => node.slug);

describe('clubs that are found by name', () => {
  it('are those whose registrar chose so, with what it says of them and nothing of their members', async () => {
    expect(await found('search: "newts"')).toEqual([]);
    const said = { listed: true, region: 'AT-7', taxonIds: [taxonId] };
    expect((await list(said)).data).toEqual({
      setClubListing: {
        club: {
          slug,
          name: 'Newts of the north',
          ...said,
          taxonIds: undefined,
          taxa: [{ id: taxonId }],
          admission: 'application',
        },
      },
    });
    for (const args of ['search: "NEWTS of"', `search: "${slug}"`, 'region: "AT-7"', `taxonId: "${taxonId}"`])
      expect({ args, slugs: await found(args) }).toEqual({ args, slugs: [slug] });
    for (const args of ['search: "frogs"', 'search: "n_wts"', 'region: "AT-1"', `taxonId: "${uuid()}"`, 'taxonId: "x"'])
      expect({ args, slugs: await found(args) }).toEqual({ args, slugs: [] });
    expect(wrong(await find('search: "newts"', null))).toBe('UNAUTHENTICATED');
    // What is left out stays, null takes it back; not listed, it is found no more and read by its own people.
    await list({ listed: true, region: null });
    expect(await found('region: "AT-7"')).toEqual([]);
    expect(await found(`taxonId: "${taxonId}"`)).toEqual([slug]);
    await list({ listed: false, taxonIds: null });
    expect(await found('search: "newts"')).toEqual([]);
    const own = (who: TestKeeper) =>
      test.ask<object>(`query ($c: ID!) { clubListing(clubId: $c) { ${FIELDS} } }`, { c: clubId }, who.token);
    expect((await own(member)).data).toMatchObject({ clubListing: { listed: false, region: null, taxa: [] } });
    expect(wrong(await own(seeker))).toBe('NOT_FOUND');
  });

  it('are listed by a registrar alone', async () => {
    expect(wrong(await list({ listed: true }, member))).toBe('FORBIDDEN');
    expect(wrong(await list({ listed: true }, seeker))).toBe('NOT_FOUND');
    expect(wrong(await list({ listed: true, taxonIds: [uuid()] }))).toBe('NOT_FOUND');
    expect(wrong(await list({ listed: true, region: 'north' }))).toBe('INVALID_INPUT');
    expect(await found('search: "newts"')).toEqual([]);
  });

  it('come in pages, in the order of their short names', async () => {
    const clubs = await Promise.all(['One', 'Two', 'Three'].map((name) => club(`Pond ${name}`, registrar)));
    for (const [id] of clubs) await list({ listed: true }, registrar, id);
    const slugs = clubs.map(([, short]) => short).toSorted();
    const first = (await find('search: "pond", first: 2')).data?.clubs;
    expect(first?.edges.map(({ node }) => node.slug)).toEqual(slugs.slice(0, 2));
    expect(first?.pageInfo.hasNextPage).toBe(true);
    const last = (await find(`search: "pond", first: 2, after: "${first?.edges[1]?.cursor}"`)).data?.clubs;
    expect(last?.edges.map(({ node }) => node.slug)).toEqual(slugs.slice(2));
    expect(last?.pageInfo.hasNextPage).toBe(false);
  });

  it('take applications, unless they ask their members themselves', async () => {
    const apply = () => world.run('applyToClub', { keeperId: seeker.keeperId, slug }, seeker, 'application { id }');
    await list({ listed: true, admission: 'invitation' });
    expect(wrong(await apply())).toBe('CLUB_INVITES_ONLY');
    await list({ listed: true, admission: 'application' });
    expect((await apply()).errors).toBeUndefined();
  });
});

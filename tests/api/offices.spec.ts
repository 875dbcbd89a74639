import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

type Office = {
  id: string;
  club: { id: string };
  region: string | null;
  taxonId: string | null;
  taxon: string | null;
  holder: string | null;
  validFrom: string;
  validTo: string | null;
};
const FIELDS = 'id club { id } region taxonId taxon holder validFrom validTo';
const TODAY = '2026-06-10';

let test: TestApp;
let world: RegistryWorld;
let registrar: TestKeeper;
let member: TestKeeper;
let stranger: TestKeeper;
let clubId: string;

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  test.setDay(TODAY);
  [registrar, member, stranger] = [
    await world.keeper('Registrar'),
    await world.keeper('Member'),
    await world.keeper('Stranger'),
  ];
  clubId = await world.club(registrar, member);
  await world.db.office.create({
    data: { id: uuid(), clubId, accountId: registrar.accountId, validFrom: new Date('2026-01-01') },
  });
});
afterAll(async () => {
  await world.close();
  await test.close();
});

async function emailOf(keeper: TestKeeper): Promise<string> {
  return (await test.get<{ me: { email: string } }>('{ me { email } }', {}, keeper.token)).me.email;
}

async function officesOf(keeper: TestKeeper): Promise<Office[]> {
  return (await test.get<{ me: { offices: Office[] } }>(`{ me { offices { ${FIELDS} } } }`, {}, keeper.token)).me
    .offices;
}

async function appoint(
  input: object,
  who: TestKeeper,
  headers: Record<string, string> = {},
): Promise<Answer<{ appointCoordinator: { office: Office } }>> {
  return test.ask(
    `mutation ($input: AppointCoordinatorInput!) { appointCoordinator(input: $input) { office { ${FIELDS} } } }`,
    { input },
    who.token,
    headers,
  );
}

async function end(input: object, who: TestKeeper): Promise<Answer<{ endOffice: { office: Office } }>> {
  return test.ask(
    `mutation ($input: EndOfficeInput!) { endOffice(input: $input) { office { ${FIELDS} } } }`,
    { input },
    who.token,
  );
}

const codeOf = (answer: Answer<unknown>): string | undefined => answer.errors?.[0]?.extensions.code;
const ruleOf = (answer: Answer<unknown>): string | undefined => answer.errors?.[0]?.extensions.rule;

describe('offices of a club', () => {
  let officeId: string;

  it('a registrar appoints a coordinator among the members; it is read by whoever holds it and by the registrar', async () => {
    const email = await emailOf(member);
    const before = await world.db.ledgerEntry.count();
    const answer = await appoint({ clubId, email: ` ${email.toUpperCase()} `, region: 'XA-NO' }, registrar);
    const office = answer.data?.appointCoordinator.office;
    expect(office).toMatchObject({
      club: { id: clubId },
      region: 'XA-NO',
      taxonId: null,
      taxon: null,
      holder: 'Member',
      validFrom: TODAY,
      validTo: null,
    });
    officeId = office?.id ?? '';
    expect(await world.db.ledgerEntry.count()).toBe(before + 1);
    const entry = await world.db.ledgerEntry.findFirstOrThrow({ where: { subjects: { has: officeId } } });
    expect(entry.action).toBe('office.appointed');
    expect(entry.body).not.toContain(email);
    expect(await officesOf(member)).toEqual([office]);
    expect(await officesOf(stranger)).toEqual([]);
    const { clubOffices } = await test.get<{ clubOffices: { edges: { node: Office }[] } }>(
      `query ($id: ID!) { clubOffices(clubId: $id) { edges { node { ${FIELDS} } } } }`,
      { id: clubId },
      registrar.token,
    );
    expect(clubOffices.edges.map(({ node }) => node.holder)).toEqual(['Registrar', 'Member']);
  });

  it('pages through the offices of a club', async () => {
    const query = `query ($id: ID!, $after: String) { clubOffices(clubId: $id, first: 1, after: $after) {
      edges { node { id } } pageInfo { hasNextPage endCursor } } }`;
    type Page = {
      clubOffices: { edges: { node: { id: string } }[]; pageInfo: { hasNextPage: boolean; endCursor: string } };
    };
    const one = (await test.get<Page>(query, { id: clubId }, registrar.token)).clubOffices;
    expect(one.pageInfo.hasNextPage).toBe(true);
    const two = await test.get<Page>(query, { id: clubId, after: one.pageInfo.endCursor }, registrar.token);
    expect(two.clubOffices.edges.map(({ node }) => node.id)).toEqual([officeId]);
    expect(two.clubOffices.pageInfo.hasNextPage).toBe(false);
  });

  it('nobody else appoints, reads or ends: forbidden to those of the club; to others the club, or the office, is not there', async () => {
    const email = await emailOf(member);
    const before = await world.db.office.count();
    const read = (who: TestKeeper) =>
      test.ask('query ($id: ID!) { clubOffices(clubId: $id) { pageInfo { endCursor } } }', { id: clubId }, who.token);
    const refused = await appoint({ clubId, email }, stranger);
    const nowhere = await appoint({ clubId: uuid(), email }, stranger);
    expect([codeOf(refused), codeOf(await read(stranger))]).toEqual(['NOT_FOUND', 'NOT_FOUND']);
    expect(refused.errors?.[0]?.message).toBe(nowhere.errors?.[0]?.message);
    for (const address of [email, 'nobody@example.org'])
      expect(codeOf(await appoint({ clubId, email: address }, member))).toBe('FORBIDDEN');
    expect(codeOf(await read(member))).toBe('FORBIDDEN');
    // The member holds this office, and sees it; an office of somebody else it does not.
    expect(codeOf(await end({ officeId }, member))).toBe('FORBIDDEN');
    const { id: others } = await world.db.office.findFirstOrThrow({ where: { accountId: registrar.accountId } });
    const nothing = await end({ officeId: uuid() }, stranger);
    for (const [id, who] of [
      [officeId, stranger],
      [others, member],
    ] as const)
      expect((await end({ officeId: id }, who)).errors?.[0]).toMatchObject({
        message: nothing.errors?.[0]?.message,
        extensions: { code: 'NOT_FOUND' },
      });
    expect(await world.db.office.count()).toBe(before);
  });

  it('refuses what makes no sense, with nothing written', async () => {
    const email = await emailOf(member);
    const before = [await world.db.office.count(), await world.db.ledgerEntry.count()];
    const cases: [object, string][] = [
      [{ clubId: 'x', email }, 'INVALID_INPUT'],
      [{ clubId, email, region: 'north' }, 'INVALID_INPUT'],
      [{ clubId, email, taxonId: 'x' }, 'INVALID_INPUT'],
      [{ clubId, email, validFrom: '2026-07-02', validTo: '2026-07-01' }, 'INVALID_INPUT'],
      [{ clubId, email, taxonId: uuid() }, 'NOT_FOUND'],
      [{ clubId, email: await emailOf(stranger) }, 'NOT_FOUND'],
      [{ clubId, email: 'nobody@example.org' }, 'NOT_FOUND'],
      [{ clubId, email, validFrom: '2026-06-09' }, 'OFFICE_IN_PAST'],
      [{ clubId, email, validTo: TODAY }, 'OFFICE_ENDS_TOO_EARLY'],
      [{ clubId, email, region: 'XA-NO', validFrom: '2026-09-01' }, 'OFFICE_HELD'],
    ];
    for (const [input, expected] of cases) {
      const answer = await appoint(input, registrar);
      expect({ input, code: ruleOf(answer) ?? codeOf(answer) }).toEqual({ input, code: expected });
    }
    const [ofStranger, ofNobody] = [
      await appoint({ clubId, email: await emailOf(stranger) }, registrar),
      await appoint({ clubId, email: 'nobody@example.org' }, registrar),
    ];
    expect(ofStranger.errors?.[0]?.message).toBe(ofNobody.errors?.[0]?.message);
    expect(await end({ officeId, on: '2026-06-09' }, registrar).then(ruleOf)).toBe('OFFICE_IN_PAST');
    expect([await world.db.office.count(), await world.db.ledgerEntry.count()]).toEqual(before);
  });

  it('an office ends on its day, and not twice', async () => {
    const ended = await end({ officeId, on: '2026-06-12' }, registrar);
    expect(ended.data?.endOffice.office.validTo).toBe('2026-06-12');
    expect(await officesOf(member)).toHaveLength(1);
    expect(await end({ officeId, on: '2026-06-20' }, registrar).then(ruleOf)).toBe('OFFICE_ENDED');
    test.setDay('2026-06-12');
    expect(await officesOf(member)).toEqual([]);
    test.setDay(TODAY);
    const later = await appoint(
      { clubId, email: await emailOf(member), region: 'XA-WE', validFrom: '2026-08-01' },
      registrar,
    );
    const { id = '' } = later.data?.appointCoordinator.office ?? {};
    const never = await end({ officeId: id }, registrar);
    expect(never.data?.endOffice.office).toMatchObject({ validFrom: '2026-08-01', validTo: '2026-08-01' });
  });

  it('the last registrar stays until there is another; two who end one another at once leave one', async () => {
    const [own] = await officesOf(registrar);
    expect(await end({ officeId: own?.id }, registrar).then(ruleOf)).toBe('LAST_REGISTRAR');
    const second = await appoint({ clubId, email: await emailOf(member) }, registrar);
    const theirs = second.data?.appointCoordinator.office.id;
    const answers = await Promise.all([end({ officeId: own?.id }, registrar), end({ officeId: theirs }, member)]);
    expect(answers.filter((answer) => answer.errors === undefined)).toHaveLength(1);
    expect(answers.map(ruleOf).filter((rule) => rule !== undefined)).toEqual(['LAST_REGISTRAR']);
  });
});

describe('what a keeper shows', () => {
  const set = (input: object, who: TestKeeper): Promise<Answer<{ setSharing: { keeper: object } }>> =>
    test.ask(
      `mutation ($input: SetSharingInput!) { setSharing(input: $input) { keeper { id holdingsShown lineageShared } } }`,
      { input },
      who.token,
    );

  it('is its owner’s to decide, with an entry in the ledger', async () => {
    const before = await world.db.ledgerEntry.count();
    const keeperId = member.keeperId;
    for (const holdingsShown of ['club', 'coordinator', 'nobody'])
      expect(await set({ keeperId, holdingsShown, lineageShared: false }, member)).toMatchObject({
        data: { setSharing: { keeper: { id: keeperId, holdingsShown, lineageShared: false } } },
      });
    expect(await world.db.ledgerEntry.count()).toBe(before + 3);
    const entries = await world.db.ledgerEntry.findMany({
      where: { action: 'keeper.sharing-set', subjects: { has: keeperId } },
    });
    const bodies = entries.map(({ body }) => JSON.parse(body) as { holdingsShown: string });
    expect(bodies.map(({ holdingsShown }) => holdingsShown).sort()).toEqual(['club', 'coordinator', 'nobody']);
    expect(bodies).toContainEqual({ keeperId, holdingsShown: 'nobody', lineageShared: false });
  });

  it('is not a helper’s, nor a stranger’s', async () => {
    const helper = await world.keeper('Helper');
    await world.db.keeperMember.create({
      data: { keeperId: member.keeperId, accountId: helper.accountId, role: 'helper', since: new Date() },
    });
    const input = { keeperId: member.keeperId, holdingsShown: 'club', lineageShared: true };
    expect(codeOf(await set(input, helper))).toBe('FORBIDDEN');
    expect(codeOf(await set(input, stranger))).toBe('NOT_FOUND');
    expect(codeOf(await set({ ...input, keeperId: uuid() }, stranger))).toBe('NOT_FOUND');
    const keeper = await world.db.keeper.findUniqueOrThrow({ where: { id: member.keeperId } });
    expect([keeper.holdingsShown, keeper.lineageShared]).toEqual(['nobody', false]);
  });
});

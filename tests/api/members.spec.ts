import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let owner: TestKeeper;
let other: TestKeeper;
let stranger: TestKeeper;

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  [owner, other, stranger] = [await world.keeper('Owner'), await world.keeper('Other'), await world.keeper('Stranger')];
});
afterAll(async () => {
  await world.close();
  await test.close();
});

const run = (name: string, input: object, who: TestKeeper, fields: string): Promise<Answer<Record<string, never>>> =>
  test.ask(
    `mutation ($input: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { ${fields} } }`,
    { input },
    who.token,
  );
const PEOPLE = 'keeperId people { members { accountId role } invitations { id email role } }';
const end = (accountId: string, who: TestKeeper, keeperId = owner.keeperId) =>
  run('endKeeperMembership', { keeperId, accountId }, who, PEOPLE);
const setRole = (accountId: string, role: string, who: TestKeeper) =>
  run('setKeeperRole', { keeperId: owner.keeperId, accountId, role }, who, PEOPLE);
const wrong = (answer: Answer<unknown>) => answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code;
const emailOf = async ({ accountId }: TestKeeper) =>
  (await world.db.account.findUniqueOrThrow({ where: { id: accountId } })).email;
const invite = (email: string, who: TestKeeper, role = 'helper') =>
  run('inviteToKeeper', { keeperId: owner.keeperId, email, role }, who, PEOPLE);
const accept = (code: string, who: TestKeeper) => run('acceptInvitation', { code }, who, 'keeper { id name }');

/** The code of the invitation mailed last to an account or an address. */
async function codeFor(to: { accountId: string } | { address: string }): Promise<string> {
  const mail = await world.db.mailMessage.findFirstOrThrow({
    where: {
      ...('address' in to ? { address: to.address } : { accountId: to.accountId }),
      dedupeKey: { startsWith: 'invitation:' },
    },
    orderBy: { id: 'desc' },
  });
  return /^[\w-]{40,}$/m.exec(mail.text)?.[0] ?? '';
}

async function join(who: TestKeeper, role: string): Promise<void> {
  expect((await invite(await emailOf(who), owner, role)).errors).toBeUndefined();
  expect((await accept(await codeFor(who), who)).errors).toBeUndefined();
}

describe('people who act for a keeper', () => {
  it('an owner invites by mail, and answers are alike whether an account has the address', async () => {
    const known = await invite(await emailOf(other), owner);
    const address = `${uuid()}@example.org`;
    const unknown = await invite(address, owner);
    expect(known.errors).toBeUndefined();
    expect(Object.keys(unknown.data ?? {})).toEqual(Object.keys(known.data ?? {}));
    const code = await codeFor({ address });
    expect(code).not.toBe(await codeFor(other));
    // The code, and none of the names, is in the mail; the ledger has neither code nor address.
    const mail = await world.db.mailMessage.findFirstOrThrow({ where: { address } });
    expect(mail.text).not.toContain('Owner');
    const entries = await world.db.ledgerEntry.findMany({ where: { action: 'keeper.member-invited' } });
    expect(entries).toHaveLength(2);
    expect(JSON.stringify(entries.map(({ body }) => body))).not.toContain(address);
  });

  it('the code is good once, for whoever reads the mailbox; helpers do the daily work and change no members', async () => {
    const code = await codeFor(other);
    expect(wrong(await accept('x'.repeat(43), other))).toBe('CODE_NOT_GOOD');
    expect((await accept(code, other)).data).toEqual({
      acceptInvitation: { keeper: { id: owner.keeperId, name: 'Owner' } },
    });
    expect(wrong(await accept(code, stranger))).toBe('CODE_NOT_GOOD');
    const taxonId = await world.taxon();
    expect(await world.animal({ ...other, keeperId: owner.keeperId }, taxonId)).toMatch(/^[0-9a-f-]{36}$/);
    const before = await world.db.ledgerEntry.count();
    const query = 'query ($id: ID!) { keeperPeople(keeperId: $id) { members { email } } }';
    expect([
      wrong(await invite('a@example.org', other)),
      wrong(await setRole(other.accountId, 'owner', other)),
      wrong(await end(owner.accountId, other)),
      wrong(await run('updateKeeper', { keeperId: owner.keeperId, name: 'Mine' }, other, 'keeper { id }')),
      wrong(await test.ask(query, { id: owner.keeperId }, other.token)),
    ]).toEqual(Array.from({ length: 5 }, () => 'FORBIDDEN'));
    expect([
      wrong(await invite('a@example.org', stranger)),
      wrong(await setRole(other.accountId, 'owner', stranger)),
      wrong(await end(other.accountId, stranger)),
      wrong(await test.ask(query, { id: owner.keeperId }, stranger.token)),
      wrong(await end(stranger.accountId, owner)),
    ]).toEqual(Array.from({ length: 5 }, () => 'NOT_FOUND'));
    expect(await world.db.ledgerEntry.count()).toBe(before);
  });

  it('the last owner neither leaves nor becomes a helper', async () => {
    expect(wrong(await end(owner.accountId, owner))).toBe('LAST_OWNER');
    expect(wrong(await setRole(owner.accountId, 'helper', owner))).toBe('LAST_OWNER');
    expect((await setRole(other.accountId, 'owner', owner)).errors).toBeUndefined();
    expect(wrong(await setRole(other.accountId, 'owner', owner))).toBe('ROLE_ALREADY');
    expect((await end(other.accountId, other)).data).toEqual({
      endKeeperMembership: { keeperId: owner.keeperId, people: null },
    });
    expect(
      wrong(
        await test.ask(
          'query ($id: ID!) { keeperPeople(keeperId: $id) { members { email } } }',
          { id: owner.keeperId },
          other.token,
        ),
      ),
    ).toBe('NOT_FOUND');
  });

  it('of two owners who leave at once one stays', async () => {
    for (let round = 0; round < 5; round += 1) {
      await join(other, 'owner');
      const answers = await Promise.all([end(owner.accountId, owner), end(other.accountId, other)]);
      expect(answers.map(wrong).filter((rule) => rule !== undefined)).toEqual(['LAST_OWNER']);
      const left = await world.db.keeperMember.findMany({ where: { keeperId: owner.keeperId, endedAt: null } });
      expect(left.map(({ role }) => role)).toEqual(['owner']);
      if (left[0]?.accountId === other.accountId) [owner, other] = [{ ...other, keeperId: owner.keeperId }, owner];
    }
  });

  it('an invitation withdrawn, or of an owner who has gone, invites nobody', async () => {
    await invite(await emailOf(stranger), owner);
    const code = await codeFor(stranger);
    const { keeperPeople } = await test.get<{ keeperPeople: { invitations: { id: string; email: string }[] } }>(
      'query ($id: ID!) { keeperPeople(keeperId: $id) { invitations { id email } } }',
      { id: owner.keeperId },
      owner.token,
    );
    const email = await emailOf(stranger);
    const invitationId = keeperPeople.invitations.find((row) => row.email === email)?.id;
    expect(
      (await run('withdrawInvitation', { keeperId: owner.keeperId, invitationId }, owner, PEOPLE)).errors,
    ).toBeUndefined();
    expect(wrong(await accept(code, stranger))).toBe('CODE_NOT_GOOD');
    await join(other, 'owner');
    expect((await invite(email, other)).errors).toBeUndefined();
    expect((await end(other.accountId, owner)).errors).toBeUndefined();
    expect(wrong(await accept(await codeFor(stranger), stranger))).toBe('CODE_NOT_GOOD');
  });

  it('an office goes with the membership it was held through; the last registrar hands over first', async () => {
    const clubId = await world.club(owner);
    await join(other, 'helper');
    const office = { clubId, accountId: other.accountId, validFrom: new Date('2026-01-01') };
    const coordinator = uuid();
    await world.db.office.create({ data: { ...office, id: coordinator, region: 'XA-NO' } });
    const registrar = uuid();
    await world.db.office.create({ data: { ...office, id: registrar } });
    expect(wrong(await end(other.accountId, owner))).toBe('LAST_REGISTRAR');
    expect((await world.db.office.findUniqueOrThrow({ where: { id: coordinator } })).validTo).toBeNull();
    await world.db.office.create({ data: { ...office, id: uuid(), accountId: owner.accountId } });
    expect((await end(other.accountId, owner)).errors).toBeUndefined();
    const over = await world.db.office.findMany({ where: { accountId: other.accountId } });
    expect(over.map(({ validTo }) => validTo !== null)).toEqual([true, true]);
    expect(
      await world.db.ledgerEntry.count({ where: { action: 'office.ended', subjects: { has: coordinator } } }),
    ).toBe(1);
  });

  it('an account opens a second keeper; name and region change', async () => {
    const opened = await test.get<{ openKeeper: { keeper: { id: string; region: string | null } } }>(
      'mutation ($input: OpenKeeperInput!) { openKeeper(input: $input) { keeper { id region } } }',
      { input: { name: 'Second', kind: 'house', region: 'XA-NO' } },
      owner.token,
    );
    const { id } = opened.openKeeper.keeper;
    const update = (input: object) => run('updateKeeper', { keeperId: id, ...input }, owner, 'keeper { name region }');
    expect((await update({ name: 'Renamed' })).data).toEqual({
      updateKeeper: { keeper: { name: 'Renamed', region: 'XA-NO' } },
    });
    expect((await update({ region: null })).data).toEqual({
      updateKeeper: { keeper: { name: 'Renamed', region: null } },
    });
    expect(wrong(await update({ region: 'north' }))).toBe('INVALID_INPUT');
  });
});

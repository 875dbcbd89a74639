import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { MinorWorld } from '../support/minor-world.js';
import { type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';
import { holdRow } from '../support/transfer-world.js';

const TODAY = '2026-06-10';

let test: TestApp;
let world: MinorWorld;
let registrar: TestKeeper;
let member: TestKeeper;
let newcomer: TestKeeper;
let stranger: TestKeeper;
let clubId: string;
let otherClubId: string;
let otherRegistrar: TestKeeper;

beforeAll(async () => {
  test = await startTestApp();
  test.setDay(TODAY);
  world = new MinorWorld(test);
  [registrar, member, newcomer, stranger, otherRegistrar] = [
    await world.keeper('Registrar'),
    await world.keeper('Member'),
    await world.keeper('Newcomer'),
    await world.keeper('Stranger'),
    await world.keeper('Other registrar'),
  ];
  clubId = await world.club(registrar, member);
  otherClubId = await world.club(otherRegistrar);
  await office(clubId, registrar);
  await office(otherClubId, otherRegistrar);
});
afterAll(async () => {
  await world.close();
  await test.close();
});

async function office(club: string, who: TestKeeper, more: object = {}): Promise<string> {
  const id = uuid();
  const data = { id, clubId: club, accountId: who.accountId, validFrom: new Date('2026-01-01'), ...more };
  await world.db.office.create({ data });
  return id;
}

const wrong = (answer: { errors?: readonly { extensions: { rule?: string; code: string } }[] }) =>
  answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code;
const periods = async (keeperId: string) =>
  (await world.db.clubMember.findMany({ where: { clubId, keeperId }, orderBy: { joinedOn: 'asc' } })).map(
    ({ joinedOn, leftOn }) => [joinedOn.toISOString().slice(0, 10), leftOn?.toISOString().slice(0, 10) ?? null],
  );
const leave = (who: TestKeeper, keeperId = who.keeperId) => world.run('leaveClub', { clubId, keeperId }, who, 'clubId');

describe('an invitation to a club', () => {
  const invite = (input: object, who: TestKeeper) =>
    world.run<{ inviteToClub: { invitationId: string } }>(
      'inviteToClub',
      { clubId, ...input },
      who,
      'clubId invitationId',
    );
  const accept = (who: TestKeeper, by: object, keeperId = who.keeperId) =>
    world.run('acceptClubInvitation', { keeperId, ...by }, who, 'clubId');
  const invited = async (keeper: TestKeeper) => {
    const answer = await invite({ keeperId: keeper.keeperId }, registrar);
    expect(answer.errors).toBeUndefined();
    return { invitationId: answer.data?.inviteToClub.invitationId ?? '' };
  };

  it('by id is the keeper’s alone; accepting it is the admission, and it is good once', async () => {
    const by = await invited(newcomer);
    const notices = await world.db.notice.findMany({ where: { keeperId: newcomer.keeperId, kind: 'club_invited' } });
    const { name: clubName } = await world.db.club.findFirstOrThrow({ where: { id: clubId } });
    expect(notices.map(({ body }) => body)).toEqual([{ clubId, clubName, ...by }]);
    expect(wrong(await accept(stranger, by))).toBe('CODE_NOT_GOOD');
    expect(wrong(await accept(stranger, by, newcomer.keeperId))).toBe('NOT_FOUND');
    expect((await accept(newcomer, by)).errors).toBeUndefined();
    expect(await periods(newcomer.keeperId)).toEqual([[TODAY, null]]);
    expect(wrong(await accept(newcomer, by))).toBe('CODE_NOT_GOOD');
    expect(wrong(await invite({ keeperId: newcomer.keeperId }, registrar))).toBe('IN_CLUB_ALREADY');
  });

  it('by mail is whoever’s reads the mailbox; a second one to it makes the first no longer good', async () => {
    const reader = await world.keeper('Reader');
    const email = await world.emailOf(reader);
    await invite({ email }, registrar);
    const first = await world.codeFor(reader, 'club-invitation:');
    await invite({ email }, registrar);
    const code = await world.codeFor(reader, 'club-invitation:');
    expect(wrong(await accept(reader, { code: first }))).toBe('CODE_NOT_GOOD');
    expect((await accept(reader, { code })).errors).toBeUndefined();
    expect(await periods(reader.keeperId)).toEqual([[TODAY, null]]);
    const kept = await world.db.clubInvitation.findMany({ where: { clubId, email: { not: null } } });
    expect(kept).toEqual([]);
  });

  it('is a registrar’s to make, list and withdraw, of that club', async () => {
    const guest = await world.keeper('Guest');
    for (const who of [stranger, otherRegistrar])
      expect(wrong(await invite({ keeperId: guest.keeperId }, who))).toBe('NOT_FOUND');
    for (const keeperId of [guest.keeperId, uuid()])
      expect(wrong(await invite({ keeperId }, member))).toBe('FORBIDDEN');
    expect(wrong(await invite({ keeperId: uuid() }, registrar))).toBe('NOT_FOUND');
    expect(wrong(await invite({}, registrar))).toBe('INVALID_INPUT');
    const { invitationId } = await invited(guest);
    const list = (who: TestKeeper) =>
      test.ask<{ clubInvitations: { edges: { node: object }[] } }>(
        'query ($c: ID!) { clubInvitations(clubId: $c) { edges { node { id keeperId email } } } }',
        { c: clubId },
        who.token,
      );
    expect((await list(registrar)).data?.clubInvitations.edges.map(({ node }) => node)).toEqual([
      { id: invitationId, keeperId: guest.keeperId, email: null },
    ]);
    expect(wrong(await list(otherRegistrar))).toBe('NOT_FOUND');
    const withdraw = (who: TestKeeper, club: string) =>
      world.run('withdrawClubInvitation', { clubId: club, invitationId }, who, 'clubId');
    expect([wrong(await list(member)), wrong(await withdraw(member, clubId))]).toEqual(['FORBIDDEN', 'FORBIDDEN']);
    expect(wrong(await withdraw(otherRegistrar, clubId))).toBe('NOT_FOUND');
    expect(wrong(await withdraw(otherRegistrar, otherClubId))).toBe('NOT_FOUND');
    expect((await withdraw(registrar, clubId)).errors).toBeUndefined();
    expect(wrong(await accept(guest, { invitationId }))).toBe('CODE_NOT_GOOD');
    expect(await periods(guest.keeperId)).toEqual([]);
  });

  it('to a minor’s keeper is accepted by its guardian', async () => {
    const young = await world.minor();
    const by = await invited(young);
    expect(wrong(await accept(young, by))).toBe('GUARDIAN_SPEAKS');
    expect((await accept(young.guardian, by, young.keeperId)).errors).toBeUndefined();
  });

  it('of a keeper that left and comes back makes a new period, also on one day; twice at once makes one', async () => {
    const guest = await world.keeper('Guest');
    expect((await accept(guest, await invited(guest))).errors).toBeUndefined();
    test.setDay('2026-06-20');
    expect((await leave(guest)).errors).toBeUndefined();
    test.setDay('2026-07-01');
    expect((await accept(guest, await invited(guest))).errors).toBeUndefined();
    expect((await leave(guest)).errors).toBeUndefined();
    const byId = await invited(guest);
    const email = await world.emailOf(guest);
    expect((await invite({ email }, registrar)).errors).toBeUndefined();
    const code = await world.codeFor(guest, 'club-invitation:');
    const answers = await Promise.all([accept(guest, byId), accept(guest, { code })]);
    expect(answers.map(wrong).filter((rule) => rule !== undefined)).toEqual(['IN_CLUB_ALREADY']);
    expect(await periods(guest.keeperId)).toEqual([
      [TODAY, '2026-06-20'],
      ['2026-07-01', '2026-07-01'],
      ['2026-07-01', null],
    ]);
    test.setDay(TODAY);
  });
});

describe('an office that is handed over', () => {
  const handOver = (officeId: string, email: string, who: TestKeeper, more: object = {}) =>
    world.run<{ handOverOffice: { officeId: string } }>(
      'handOverOffice',
      { officeId, email, ...more },
      who,
      'officeId',
    );
  const terms = async (region: string) =>
    (await world.db.office.findMany({ where: { clubId, region }, orderBy: { validFrom: 'asc' } })).map((row) => [
      row.accountId,
      row.validFrom.toISOString().slice(0, 10),
      row.validTo?.toISOString().slice(0, 10) ?? null,
    ]);

  it('goes from its holder to another of the club on a day, with the rest of its term', async () => {
    const id = await office(clubId, member, { region: 'AT-1', validTo: new Date('2027-01-01') });
    const email = await world.emailOf(newcomer);
    for (const who of [newcomer, stranger, otherRegistrar])
      expect(wrong(await handOver(id, email, who))).toBe('NOT_FOUND');
    expect(wrong(await handOver(uuid(), email, registrar))).toBe('NOT_FOUND');
    expect(wrong(await handOver(id, await world.emailOf(stranger), member))).toBe('NOT_FOUND');
    expect(wrong(await handOver(id, email, member, { on: '2026-06-09' }))).toBe('OFFICE_IN_PAST');
    expect(wrong(await handOver(id, email, member, { on: '2027-02-01' }))).toBe('OFFICE_ENDED');
    expect(wrong(await handOver(id, await world.emailOf(member), member))).toBe('OFFICE_HELD');
    expect((await handOver(id, email, member, { on: '2026-06-15' })).errors).toBeUndefined();
    expect(await terms('AT-1')).toEqual([
      [member.accountId, '2026-01-01', '2026-06-15'],
      [newcomer.accountId, '2026-06-15', '2027-01-01'],
    ]);
  });

  it('is not offered to address after address: ten in vain a day, then none, whoever has it', async () => {
    const asker = await world.keeper('Asker');
    await world.db.clubMember.create({ data: { clubId, keeperId: asker.keeperId, joinedOn: new Date('2026-01-01') } });
    const id = await office(clubId, asker, { region: 'AT-9' });
    const mine = await world.emailOf(asker);
    const told = [await world.emailOf(stranger), 'nobody@example.org'].map((email) => handOver(id, email, asker));
    const [notMember, nobody] = await Promise.all(told);
    expect([wrong(notMember ?? {}), notMember?.errors?.[0]?.message]).toEqual([
      'NOT_FOUND',
      nobody?.errors?.[0]?.message,
    ]);
    for (let times = 0; times < 8; times += 1) expect(wrong(await handOver(id, mine, asker))).toBe('OFFICE_HELD');
    for (const email of [await world.emailOf(member), 'nobody@example.org'])
      expect(wrong(await handOver(id, email, asker))).toBe('RATE_LIMITED');
    expect(await terms('AT-9')).toEqual([[asker.accountId, '2026-01-01', null]]);
  });

  it('nor to many addresses at once: a member’s among them is not told apart', async () => {
    const asker = await world.keeper('Hasty registrar');
    const club = await world.club(asker, member);
    await office(club, asker);
    const email = await world.emailOf(member);
    const appoint = (to: string) => {
      const input = { clubId: club, email: to, region: 'AT-8', validFrom: '2026-01-01' };
      return world.run('appointCoordinator', input, asker, 'office { id }');
    };
    const inVain = () => appoint(`${uuid()}@example.org`);
    const barrier = await holdRow(test.databaseUrl, 'club', club);
    const before = Array.from({ length: 12 }, inVain);
    await sleep(500);
    const [asked, after] = [appoint(email), Array.from({ length: 3 }, inVain)];
    await sleep(500);
    await barrier.releaseWhenWaiting(1);
    const answers = (await Promise.all([...before, ...after])).map(wrong);
    expect(answers.toSorted()).toEqual([
      ...Array<string>(10).fill('NOT_FOUND'),
      ...Array<string>(5).fill('RATE_LIMITED'),
    ]);
    expect(wrong(await asked)).toBe('RATE_LIMITED');
  });

  it('is handed over by a registrar too, and once where two do so at once', async () => {
    const id = await office(clubId, member, { region: 'AT-2' });
    const heirs = [newcomer, registrar];
    const emails = await Promise.all(heirs.map((heir) => world.emailOf(heir)));
    const answers = await Promise.all([
      handOver(id, emails[0] ?? '', member),
      handOver(id, emails[1] ?? '', registrar),
    ]);
    expect(answers.filter(({ errors }) => errors === undefined)).toHaveLength(1);
    expect(['OFFICE_ENDED', 'NOT_FOUND']).toContain(answers.map(wrong).find((rule) => rule !== undefined));
    const held = await terms('AT-2');
    expect(held).toHaveLength(2);
    expect(held.filter(([, , validTo]) => validTo === null)).toHaveLength(1);
  });

  it('takes along what waits: applications and reports are read by the next holder, and no longer by the last', async () => {
    const [first, next, applicant] = [
      await world.keeper('First'),
      await world.keeper('Next'),
      await world.keeper('Applicant'),
    ];
    const club = await world.club(first, next);
    const slug = `club-${club.slice(-12)}`;
    await world.db.club.update({ where: { id: club }, data: { slug } });
    const id = await office(club, first);
    await world.run('applyToClub', { keeperId: applicant.keeperId, slug }, applicant, 'application { id }');
    const waiting = async (who: TestKeeper) =>
      test.ask<{ clubApplications: { edges: { node: { id: string } }[] } }>(
        'query ($c: ID!) { clubApplications(clubId: $c) { edges { node { id } } } }',
        { c: club },
        who.token,
      );
    const report = (who: TestKeeper) =>
      test.ask<object>(
        `query ($c: ID!) { regionalStock(clubId: $c, region: "AT-7", asOf: "${TODAY}", since: "2026-01-01") { __typename } }`,
        { c: club },
        who.token,
      );
    const reports = async () => [wrong(await report(first)), wrong(await report(next))];
    expect(await reports()).toEqual([undefined, 'FORBIDDEN']);
    const before = await waiting(first);
    expect(before.data?.clubApplications.edges).toHaveLength(1);
    expect(wrong(await handOver(id, await world.emailOf(next), first, { on: '2026-07-01' }))).toBe(
      'OFFICE_HANDED_LATER',
    );
    expect((await handOver(id, await world.emailOf(next), first)).errors).toBeUndefined();
    expect(await reports()).toEqual(['FORBIDDEN', undefined]);
    expect((await waiting(next)).data).toEqual(before.data);
    expect(wrong(await waiting(first))).toBe('FORBIDDEN');
    const applicationId = before.data?.clubApplications.edges[0]?.node.id;
    const admit = (who: TestKeeper) =>
      world.run('answerApplication', { applicationId, admit: true }, who, 'application { id }');
    expect(wrong(await admit(first))).toBe('NOT_FOUND');
    expect((await admit(next)).errors).toBeUndefined();
  });
});

describe('what a club says of the checks before sending', () => {
  const set = (input: object, who: TestKeeper) =>
    world.run<{ setClubPolicy: { policy: object[] } }>(
      'setClubPolicy',
      { clubId, ...input },
      who,
      'policy { check effect saidByClub }',
    );
  const read = (who: TestKeeper, club = clubId) =>
    test.ask<{ clubPolicy: object[] }>(
      'query ($c: ID!) { clubPolicy(clubId: $c) { check effect saidByClub } }',
      { c: club },
      who.token,
    );
  const DEFAULTS = [
    { check: 'document', effect: 'warn', saidByClub: false },
    { check: 'quarantine', effect: 'block', saidByClub: false },
    { check: 'minimum', effect: 'warn', saidByClub: false },
  ];

  it('is set by its registrar, read by its members, and taken back to the default', async () => {
    expect((await read(member)).data?.clubPolicy).toEqual(DEFAULTS);
    const said = [{ check: 'document', effect: 'block', saidByClub: true }, ...DEFAULTS.slice(1)];
    expect((await set({ check: 'document', effect: 'block' }, registrar)).data?.setClubPolicy.policy).toEqual(said);
    expect((await read(member)).data?.clubPolicy).toEqual(said);
    expect((await read(otherRegistrar, otherClubId)).data?.clubPolicy).toEqual(DEFAULTS);
    expect((await set({ check: 'document', effect: null }, registrar)).data?.setClubPolicy.policy).toEqual(DEFAULTS);
  });

  it('is nobody else’s: members set nothing, others read nothing', async () => {
    for (const who of [stranger, otherRegistrar])
      expect(wrong(await set({ check: 'document', effect: 'block' }, who))).toBe('NOT_FOUND');
    expect(wrong(await set({ check: 'document', effect: 'block' }, member))).toBe('FORBIDDEN');
    for (const who of [stranger, otherRegistrar]) expect(wrong(await read(who))).toBe('NOT_FOUND');
    expect(wrong(await read(member, uuid()))).toBe('NOT_FOUND');
    expect((await read(member)).data?.clubPolicy).toEqual(DEFAULTS);
  });

  it('decides between members: a block keeps the animal, a warning lets it go', async () => {
    const animalId = await world.animal(registrar, await world.taxon());
    const { data } = await world.offer(registrar, member.keeperId, [animalId]);
    const transferId = data?.offerTransfer.transfer.id;
    await world.run('acceptTransfer', { transferId }, member, 'transfer { id }');
    const group = { keeperId: registrar.keeperId, animalIds: [animalId], enteredOn: TODAY, days: 30 };
    const kept = await world.run('openQuarantine', group, registrar, 'quarantine { id }');
    expect(kept.errors).toBeUndefined();
    const checks = async () =>
      (
        await test.get<{ transferChecks: { check: string; effect: string }[] }>(
          'query ($id: ID!) { transferChecks(transferId: $id) { check effect } }',
          { id: transferId },
          registrar.token,
        )
      ).transferChecks;
    expect(await checks()).toEqual([{ check: 'quarantine', effect: 'block' }]);
    await set({ check: 'quarantine', effect: 'warn' }, registrar);
    expect(await checks()).toEqual([{ check: 'quarantine', effect: 'warn' }]);
  });
});

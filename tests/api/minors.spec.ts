import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { addDays, dayOf } from '../../libs/kernel/index.js';
import { MinorWorld, type TestMinor } from '../support/minor-world.js';
import { type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: MinorWorld;
let adult: TestKeeper;
let minor: TestMinor;

beforeAll(async () => {
  test = await startTestApp();
  world = new MinorWorld(test);
  adult = await world.keeper('Adult');
  minor = await world.minor();
});
afterAll(async () => {
  await world.close();
  await test.close();
});

const today = dayOf(new Date());
const inYears = (years: number) => addDays(today, years * 365);
const wrong = (answer: { errors?: readonly { extensions: { rule?: string; code: string } }[] }) =>
  answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code;

describe('a keeper of a minor', () => {
  const open = (more: object) =>
    test.ask<{ openAccount: { accountId: string } }>(
      'mutation ($input: OpenAccountInput!) { openAccount(input: $input) { accountId } }',
      { input: { email: `${uuid()}@example.org`, password: 'a long enough password', keeperName: 'Young', ...more } },
    );
  const fieldOf = (answer: { errors?: readonly { extensions: { fields?: { path: string }[] } }[] }) =>
    answer.errors?.[0]?.extensions.fields?.[0]?.path;

  it('needs a guardian, who is somebody else, and a day that can be', async () => {
    const email = `${uuid()}@example.org`;
    expect(fieldOf(await open({ minorUntil: inYears(4) }))).toBe('input.guardianEmail');
    expect(fieldOf(await open({ guardianEmail: email }))).toBe('input.minorUntil');
    expect(fieldOf(await open({ email, minorUntil: inYears(4), guardianEmail: email.toUpperCase() }))).toBe(
      'input.guardianEmail',
    );
    for (const minorUntil of [today, addDays(today, -1), inYears(30)])
      expect(fieldOf(await open({ minorUntil, guardianEmail: email }))).toBe('input.minorUntil');
    expect(await world.db.mailMessage.count({ where: { address: email } })).toBe(0);
    expect((await open({ minorUntil: inYears(4), guardianEmail: email })).errors).toBeUndefined();
    expect(await world.db.mailMessage.count({ where: { address: email } })).toBe(1);
  });

  it('is told so to its own people alone, and whether a guardian is awaited', async () => {
    const young = await world.minorAlone();
    const own = '{ me { keepers { id minorUntil guardianAwaited } } }';
    const read = async (who: TestKeeper) =>
      (await test.get<{ me: { keepers: object[] } }>(own, {}, who.token)).me.keepers;
    expect(await read(young)).toEqual([{ id: young.keeperId, minorUntil: inYears(4), guardianAwaited: true }]);
    const guardian = await world.keeper('Guardian');
    await world.guard(young, guardian);
    expect(await read(young)).toEqual([{ id: young.keeperId, minorUntil: inYears(4), guardianAwaited: false }]);
    expect(await read(guardian)).toContainEqual({
      id: young.keeperId,
      minorUntil: inYears(4),
      guardianAwaited: false,
    });
    expect(await read(guardian)).toContainEqual({
      id: guardian.keeperId,
      minorUntil: null,
      guardianAwaited: false,
    });
  });

  it('records its animals without a guardian, and takes part in nothing with others', async () => {
    const young = await world.minorAlone();
    const taxonId = await world.taxon();
    const animalId = await world.animal(young, taxonId);
    expect(wrong(await world.offer(young, adult.keeperId, [animalId]))).toBe('GUARDIAN_AWAITED');
    const theirs = await world.animal(adult, taxonId);
    expect(wrong(await world.offer(adult, young.keeperId, [theirs]))).toBe('NOT_FOUND');
    const slug = await world.clubSlug(adult);
    expect(wrong(await world.run('applyToClub', { keeperId: young.keeperId, slug }, young, 'application { id }'))).toBe(
      'GUARDIAN_AWAITED',
    );
    const asked = { animalId: theirs, keeperId: young.keeperId, message: 'Is he free?' };
    expect(wrong(await world.run('askHolder', asked, young, 'thread { id }'))).toBe('GUARDIAN_AWAITED');
    const grant = { animalId, toKeeperId: adult.keeperId, until: today };
    expect(wrong(await world.run('grantReading', grant, young, 'grant { id }'))).toBe('GUARDIAN_AWAITED');
    await world.club(adult, young);
    const about = { animalId, keeperId: adult.keeperId, message: 'Is he free?' };
    expect(wrong(await world.run('askHolder', about, adult, 'thread { id }'))).toBe('ASK_NOBODY');
  });

  it('joins a club by its guardian alone, and founds none', async () => {
    const slug = await world.clubSlug(adult);
    const apply = (who: TestKeeper, keeperId = minor.keeperId) =>
      world.run('applyToClub', { keeperId, slug }, who, 'application { id }');
    expect(wrong(await apply(minor))).toBe('GUARDIAN_SPEAKS');
    expect(wrong(await apply(adult))).toBe('NOT_FOUND');
    expect((await apply(minor.guardian)).errors).toBeUndefined();
    const found = { keeperId: minor.keeperId, slug: `own-${uuid().slice(-12)}`, name: 'Our club' };
    expect(wrong(await world.run('foundClub', found, minor.guardian, 'clubId'))).toBe('MINOR_FOUNDS_NO_CLUB');
    // The guardian's own keeper is apart.
    expect((await apply(minor.guardian, minor.guardian.keeperId)).errors).toBeUndefined();
  });

  it('counts as an adult’s from the day on: the guardian acts for it no longer, and it speaks for itself', async () => {
    const grown = await world.minor();
    await world.db.keeper.update({ where: { id: grown.keeperId }, data: { minorUntil: new Date(today) } });
    const slug = await world.clubSlug(adult);
    const apply = (who: TestKeeper) =>
      world.run('applyToClub', { keeperId: grown.keeperId, slug }, who, 'application { id }');
    expect(wrong(await apply(grown.guardian))).toBe('NOT_FOUND');
    expect((await apply(grown)).errors).toBeUndefined();
  });
});

describe('guardians', () => {
  const PEOPLE = 'keeperId people { members { accountId role } }';
  const end = (young: TestKeeper, accountId: string, who: TestKeeper) =>
    world.run('endKeeperMembership', { keeperId: young.keeperId, accountId }, who, PEOPLE);
  const setRole = (young: TestKeeper, accountId: string, role: string, who: TestKeeper) =>
    world.run('setKeeperRole', { keeperId: young.keeperId, accountId, role }, who, PEOPLE);
  const invite = (young: TestKeeper, email: string, who: TestKeeper) =>
    world.run('inviteToKeeper', { keeperId: young.keeperId, email, role: 'guardian' }, who, PEOPLE);

  it('are ended and joined by guardians alone; the last one cannot leave', async () => {
    const young = await world.minor();
    const { guardian } = young;
    const helper = await world.keeper('Helper');
    expect(wrong(await end(young, guardian.accountId, young))).toBe('GUARDIAN_DECIDES');
    expect(wrong(await setRole(young, guardian.accountId, 'helper', young))).toBe('GUARDIAN_DECIDES');
    expect(wrong(await invite(young, await world.emailOf(helper), young))).toBe('GUARDIAN_DECIDES');
    expect(wrong(await setRole(young, young.accountId, 'guardian', guardian))).toBe('INVALID_INPUT');
    expect(wrong(await end(young, guardian.accountId, guardian))).toBe('LAST_GUARDIAN');
    expect(wrong(await setRole(young, guardian.accountId, 'owner', guardian))).toBe('LAST_GUARDIAN');
    expect(wrong(await end(young, guardian.accountId, adult))).toBe('NOT_FOUND');
    const second = await world.keeper('Second');
    await world.guard(young, second, guardian);
    expect((await end(young, guardian.accountId, guardian)).errors).toBeUndefined();
    expect(wrong(await end(young, second.accountId, second))).toBe('LAST_GUARDIAN');
  });

  it('are adults, of a minor: an account that owns a minor’s keeper is none, an adult’s keeper has none', async () => {
    const [one, other] = [await world.minorAlone(), await world.minorAlone()];
    expect((await invite(one, await world.emailOf(other), one)).errors).toBeUndefined();
    expect(wrong(await world.accept(await world.codeFor(other), other))).toBe('GUARDIAN_IS_MINOR');
    expect(wrong(await invite(adult, await world.emailOf(minor.guardian), adult))).toBe('NOT_A_MINOR');
  });

  it('two who leave at once: one stays', async () => {
    for (let round = 0; round < 4; round++) {
      const young = await world.minor();
      const second = await world.keeper('Second');
      await world.guard(young, second, young.guardian);
      const answers = await Promise.all([
        end(young, young.guardian.accountId, young.guardian),
        end(young, second.accountId, second),
      ]);
      expect(answers.map(wrong).filter((rule) => rule !== undefined)).toEqual(['LAST_GUARDIAN']);
      const left = await world.db.keeperMember.count({
        where: { keeperId: young.keeperId, role: 'guardian', endedAt: null },
      });
      expect(left).toBe(1);
    }
  });
});

describe('a transfer with a minor’s keeper', () => {
  const step = (name: string, id: string, who: TestKeeper, more: object = {}) =>
    world.run<Record<string, { transfer: { countersignatures: { side: string; signed: boolean }[] } }>>(
      name,
      { transferId: id, ...more },
      who,
      'transfer { id state countersignatures { side signed } }',
    );
  const send = (id: string, who: TestKeeper) => step('sendTransfer', id, who, { sentOn: today });
  const sides = (answer: Awaited<ReturnType<typeof step>>) =>
    Object.values(answer.data ?? {})[0]?.transfer.countersignatures;

  async function offered(from: TestKeeper, to: TestKeeper, more: object = {}): Promise<string> {
    const animalId = await world.animal(from, await world.taxon());
    const answer = await world.offer(from, to.keeperId, [animalId], more);
    expect(answer.errors).toBeUndefined();
    return answer.data?.offerTransfer.transfer.id ?? '';
  }

  it('is sent once the guardian of the receiving side has countersigned; the other party learns nothing of an age', async () => {
    const id = await offered(adult, minor);
    const accepted = await step('acceptTransfer', id, minor);
    expect(sides(accepted)).toEqual([{ side: 'receiver', signed: false }]);
    const refused = await send(id, adult);
    expect(wrong(refused)).toBe('TRANSFER_COUNTERSIGNATURE_AWAITED');
    expect(JSON.stringify(refused)).not.toMatch(/minor|guardian|adult|\bage\b/i);
    const checks = await test.get<{ transferChecks: { check: string; effect: string; subjectId: string }[] }>(
      'query ($id: ID!) { transferChecks(transferId: $id) { check effect subjectId } }',
      { id },
      adult.token,
    );
    expect(checks.transferChecks).toContainEqual({ check: 'countersignature', effect: 'block', subjectId: id });
    const stands = 'query ($id: ID!) { transferChecks(transferId: $id) { check } }';
    expect(wrong(await test.ask(stands, { id }, minor.token))).toBe('FORBIDDEN');
    expect(wrong(await step('countersignTransfer', id, minor))).toBe('FORBIDDEN');
    expect(wrong(await step('countersignTransfer', id, adult))).toBe('FORBIDDEN');
    expect(wrong(await step('countersignTransfer', id, await world.keeper('Stranger')))).toBe('NOT_FOUND');
    expect(wrong(await step('countersignTransfer', uuid(), minor.guardian))).toBe('NOT_FOUND');
    expect(sides(await step('countersignTransfer', id, minor.guardian))).toEqual([{ side: 'receiver', signed: true }]);
    expect(wrong(await step('countersignTransfer', id, minor.guardian))).toBe('COUNTERSIGNED_ALREADY');
    expect((await send(id, adult)).errors).toBeUndefined();
    expect(wrong(await step('countersignTransfer', id, minor.guardian))).toBe('TRANSFER_COUNTERSIGN_LATE');
  });

  it('waits for the guardians of both sides where both are minors’, and tells each', async () => {
    const other = await world.minor();
    const id = await offered(minor, other);
    for (const { keeperId } of [minor, other])
      expect(
        await world.db.notice.count({
          where: { keeperId, kind: 'transfer_countersignature_awaited', body: { path: ['transferId'], equals: id } },
        }),
      ).toBe(1);
    await step('acceptTransfer', id, other);
    await step('countersignTransfer', id, minor.guardian);
    expect(wrong(await send(id, minor))).toBe('TRANSFER_COUNTERSIGNATURE_AWAITED');
    expect(sides(await step('countersignTransfer', id, other.guardian))).toEqual([
      { side: 'giver', signed: true },
      { side: 'receiver', signed: true },
    ]);
    expect((await send(id, minor)).errors).toBeUndefined();
  });

  it('two guardians who countersign at once leave one countersignature', async () => {
    const second = await world.keeper('Second');
    await world.guard(minor, second, minor.guardian);
    const id = await offered(adult, minor);
    const answers = await Promise.all([minor.guardian, second].map((who) => step('countersignTransfer', id, who)));
    expect(answers.map(wrong).filter((rule) => rule !== undefined)).toEqual(['COUNTERSIGNED_ALREADY']);
    expect(await world.db.transferCountersignature.count({ where: { transferId: id } })).toBe(1);
  });

  it('a condition that is waived by another than the guardian takes the countersignature back', async () => {
    const id = await offered(adult, minor, { conditions: [{ kind: 'other', text: 'The cage is built.' }] });
    await step('acceptTransfer', id, minor);
    await step('countersignTransfer', id, minor.guardian);
    const { id: conditionId } = await world.db.transferCondition.findFirstOrThrow({ where: { transferId: id } });
    const waived = await step('settleTransferCondition', id, minor, { conditionId, settledAs: 'waived' });
    expect(sides(waived)).toEqual([{ side: 'receiver', signed: false }]);
    expect(wrong(await send(id, adult))).toBe('TRANSFER_COUNTERSIGNATURE_AWAITED');
    await step('countersignTransfer', id, minor.guardian);
    expect((await send(id, adult)).errors).toBeUndefined();
  });

  it('a countersignature given by mistake is taken back before anything is sent, and given again', async () => {
    const second = await world.keeper('Second');
    const young = await world.minor();
    await world.guard(young, second, young.guardian);
    const id = await offered(adult, young);
    const back = (who: TestKeeper, transferId = id) => step('withdrawCountersignature', transferId, who);
    const told = (keeperId: string) =>
      world.db.outboxMessage.count({
        where: { payload: { equals: { transferId: id, keeperId, what: 'countersignature_withdrawn' } } },
      });
    expect(wrong(await back(young.guardian))).toBe('COUNTERSIGNATURE_NONE');
    await step('countersignTransfer', id, young.guardian);
    for (const who of [young, adult]) expect(wrong(await back(who))).toBe('FORBIDDEN');
    expect(wrong(await back(await world.keeper('Stranger')))).toBe('NOT_FOUND');
    expect(wrong(await back(young.guardian, uuid()))).toBe('NOT_FOUND');
    // Of an offer the other side does not hear that somebody countersigns.
    expect(sides(await back(second))).toEqual([{ side: 'receiver', signed: false }]);
    expect([await told(young.keeperId), await told(adult.keeperId)]).toEqual([1, 0]);
    await step('acceptTransfer', id, young);
    await step('countersignTransfer', id, second);
    expect(sides(await back(young.guardian))).toEqual([{ side: 'receiver', signed: false }]);
    expect([await told(young.keeperId), await told(adult.keeperId)]).toEqual([2, 1]);
    expect(wrong(await send(id, adult))).toBe('TRANSFER_COUNTERSIGNATURE_AWAITED');
    await step('countersignTransfer', id, young.guardian);
    expect((await send(id, adult)).errors).toBeUndefined();
    expect(wrong(await back(young.guardian))).toBe('TRANSFER_COUNTERSIGN_LATE');
  });

  it('is taken up with a claim code by the guardian alone, who agrees with that', async () => {
    const animalId = await world.animal(adult, await world.taxon());
    const input = {
      fromKeeperId: adult.keeperId,
      kind: 'gift',
      toOutsideParty: { name: 'Young' },
      items: [{ animalId }],
    };
    const { data } = await world.run<{ offerTransfer: { claimCode: string; transfer: { id: string } } }>(
      'offerTransfer',
      input,
      adult,
      'claimCode transfer { id }',
    );
    const claim = { claimCode: data?.offerTransfer.claimCode, keeperId: minor.keeperId };
    const takeUp = (who: TestKeeper) =>
      world.run('takeUpTransfer', claim, who, 'transfer { countersignatures { side signed } }');
    expect(wrong(await takeUp(minor))).toBe('GUARDIAN_SPEAKS');
    expect(await takeUp(minor.guardian)).toMatchObject({
      data: { takeUpTransfer: { transfer: { countersignatures: [{ side: 'receiver', signed: true }] } } },
    });
  });
});

describe('a taxon that is dangerous to people', () => {
  it('is not registered for or accepted by a minor’s keeper; that keeper can give it away', async () => {
    const taxonId = await world.taxon();
    const had = await world.animal(minor, taxonId);
    const [first, second] = [await world.animal(adult, taxonId), await world.animal(adult, taxonId)];
    const early = await world.offer(adult, minor.keeperId, [first]);
    const dangerousSource = 'an invented authority, for this test';
    await world.db.taxon.update({ where: { id: taxonId }, data: { dangerous: true, dangerousSource } });
    const register = { keeperId: minor.keeperId, taxonId };
    expect(wrong(await world.run('registerAnimal', register, minor, 'animal { id }'))).toBe('TAXON_DANGEROUS');
    expect(wrong(await world.run('registerAnimal', register, minor.guardian, 'animal { id }'))).toBe('TAXON_DANGEROUS');
    const laid = { foundOn: today, atMostDaysBefore: 1 };
    const clutch = await world.run<{ recordClutch: { clutch: { id: string } } }>(
      'recordClutch',
      { damId: second, eggCount: 2, laid },
      adult,
      'clutch { id }',
    );
    const eggs = [{ clutchId: clutch.data?.recordClutch.clutch.id }];
    const late = [
      await world.offer(adult, minor.keeperId, [second]),
      await world.offer(adult, minor.keeperId, [], { eggs }),
    ];
    for (const { data } of [early, ...late]) {
      const transferId = data?.offerTransfer.transfer.id;
      for (const who of [minor, minor.guardian])
        expect(wrong(await world.run('acceptTransfer', { transferId }, who, 'transfer { id }'))).toBe(
          'TAXON_DANGEROUS',
        );
    }
    expect((await world.offer(minor, adult.keeperId, [had])).errors).toBeUndefined();
    const own = { keeperId: minor.guardian.keeperId, taxonId };
    expect((await world.run('registerAnimal', own, minor.guardian, 'animal { id }')).errors).toBeUndefined();
    const { taxa } = await test.get<{ taxa: { edges: { node: object }[] } }>(
      '{ taxa(first: 50) { edges { node { id dangerous dangerousSource } } } }',
      {},
      adult.token,
    );
    expect(taxa.edges.map(({ node }) => node)).toContainEqual({ id: taxonId, dangerous: true, dangerousSource });
  });
});

describe('threads of a minor’s keeper', () => {
  it('are its guardian’s alone: asking, reading and answering', async () => {
    const taxonId = await world.taxon();
    const asker = await world.keeper('Asker');
    await world.club(asker, minor);
    const animalId = await world.animal(minor, taxonId);
    const theirs = await world.animal(asker, taxonId);
    const message = 'Is he free?';
    const ask = (who: TestKeeper, keeperId: string, about: string) =>
      world.run<{ askHolder: { thread: { id: string } } }>(
        'askHolder',
        { animalId: about, keeperId, message },
        who,
        'thread { id }',
      );
    expect(wrong(await ask(minor, minor.keeperId, theirs))).toBe('GUARDIAN_SPEAKS');
    expect((await ask(minor.guardian, minor.keeperId, theirs)).errors).toBeUndefined();
    const id = (await ask(asker, asker.keeperId, animalId)).data?.askHolder.thread.id ?? '';
    const read = (who: TestKeeper) =>
      test.ask<object>('query ($id: ID!) { thread(id: $id) { id } }', { id }, who.token);
    const list = (who: TestKeeper) => test.ask<object>('{ threads { edges { node { id } } } }', {}, who.token);
    const answer = (who: TestKeeper) => world.run('answerThread', { threadId: id, message }, who, 'thread { id }');
    expect(await Promise.all([read(minor), list(minor), answer(minor)]).then((all) => all.map(wrong))).toEqual([
      'GUARDIAN_SPEAKS',
      'GUARDIAN_SPEAKS',
      'GUARDIAN_SPEAKS',
    ]);
    expect(wrong(await world.run('closeThread', { threadId: id }, minor, 'thread { id }'))).toBe('GUARDIAN_SPEAKS');
    expect(wrong(await read(adult))).toBe('NOT_FOUND');
    expect(JSON.stringify((await list(minor.guardian)).data)).toContain(id);
    expect((await answer(minor.guardian)).errors).toBeUndefined();
  });
});

describe('claims of ownership of a minor’s keeper', () => {
  it('are made and answered by its guardian alone; the minor reads them', async () => {
    const taxonId = await world.taxon();
    const since = '2026-01-10';
    const animalId = await world.animal(minor, taxonId, { since });
    const claim = { animalId, statement: 'We share it.', share: { parts: 1, of: 2 }, since };
    const made = (who: TestKeeper, keeperId: string, about = animalId) =>
      world.run<{ claimOwnership: { claim: { id: string } } }>(
        'claimOwnership',
        { ...claim, animalId: about, keeperId },
        who,
        'claim { id }',
      );
    expect(wrong(await made(minor, minor.keeperId))).toBe('GUARDIAN_SPEAKS');
    const given = await world.animal(adult, taxonId, { since });
    await world.db.ownershipShare.updateMany({
      where: { ownership: { animalId: given } },
      data: { keeperId: minor.keeperId },
    });
    const { data, errors } = await made(adult, adult.keeperId, given);
    expect(errors).toBeUndefined();
    const claimId = data?.claimOwnership.claim.id;
    const reply = (who: TestKeeper) =>
      world.run('replyToClaim', { claimId, statement: 'It is ours.' }, who, 'claim { id }');
    expect(wrong(await reply(minor))).toBe('GUARDIAN_SPEAKS');
    const list = await test.ask<object>('{ ownershipClaims { edges { node { id } } } }', {}, minor.token);
    expect(JSON.stringify(list.data)).toContain(claimId);
    expect((await reply(minor.guardian)).errors).toBeUndefined();
  });
});

describe('the day until which a keeper is a minor’s', () => {
  it('is put right by its guardian alone, to a day to come, with a reason in the ledger', async () => {
    const young = await world.minor();
    const adult = await world.keeper('Adult');
    const { keeperId } = young;
    const until = '2027-03-01';
    const correct = (who: TestKeeper, minorUntil = until, id = keeperId) =>
      world.run(
        'correctMinority',
        { keeperId: id, minorUntil, reason: 'A slip of the year.' },
        who,
        'keeper { minorUntil }',
      );
    expect(wrong(await correct(adult))).toBe('NOT_FOUND');
    expect(wrong(await correct(young))).toBe('FORBIDDEN');
    expect(wrong(await correct(adult, until, adult.keeperId))).toBe('FORBIDDEN');
    expect(wrong(await correct(young.guardian, '2020-01-01'))).toBe('INVALID_INPUT');
    expect((await correct(young.guardian)).data).toEqual({ correctMinority: { keeper: { minorUntil: until } } });
    const entry = await world.db.ledgerEntry.findFirstOrThrow({ where: { action: 'keeper.minority-corrected' } });
    expect(JSON.parse(entry.body)).toMatchObject({ keeperId, minorUntil: until });
    expect(entry.body).not.toContain('slip');
  });
});

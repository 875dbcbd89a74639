import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { dayOf, decide } from '../../libs/kernel/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { endQuarantine } from '../support/end-quarantine.js';
import { meet } from '../support/meeting.js';
import { MinorWorld } from '../support/minor-world.js';
import { type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

/** Two requests that meet at one row, through the API over connections of their own, in both orders. */

const PASSWORD = 'a long enough password';
const TODAY = new Date().toISOString().slice(0, 10);

let test: TestApp;
let world: MinorWorld;
let taxonId: string;
let giver: TestKeeper;
let receiver: TestKeeper;
beforeAll(async () => {
  test = await startTestApp();
  world = new MinorWorld(test);
  taxonId = await world.taxon();
  [giver, receiver] = [await world.keeper('Giver'), await world.keeper('Receiver')];
  // Connections are opened now, not while a barrier waits for those who use them.
  await Promise.all(Array.from({ length: 6 }, () => test.get('{ me { __typename } }', {}, giver.token)));
});
afterAll(async () => {
  await world.close();
  await test.close();
});

type Payload = Record<
  string,
  { transfer?: { id: string }; code?: string; clutch?: { id: string } } & Record<string, string>
>;

const run = (name: string, input: object, who: TestKeeper, fields = '__typename') =>
  world.run<Payload>(name, input, who, fields);
const told = (answer: Answer<unknown>): string =>
  answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code ?? 'done';
async function done(name: string, input: object, who: TestKeeper, fields?: string): Promise<Payload[string]> {
  const { data, errors } = await run(name, input, who, fields);
  const made = data?.[name];
  if (errors !== undefined || made === undefined) throw new Error(`${name}: ${JSON.stringify(errors)}`);
  return made;
}

/** What became of two requests that met at a row, `a` first in one order and `b` in the other; told in the order a, b. */
async function outcomes(
  row: Parameters<typeof meet>[1],
  order: 'a first' | 'b first',
  a: () => Promise<Answer<unknown>>,
  b: () => Promise<Answer<unknown>>,
): Promise<string[]> {
  if (order === 'a first') return (await meet(test.databaseUrl, row, a, b)).map(told);
  return (await meet(test.databaseUrl, row, b, a)).map(told).reverse();
}
const ORDERS = ['a first', 'b first'] as const;

async function offered(more: object = {}, from = giver, to = receiver) {
  const animalId = await world.animal(from, taxonId, { since: '2026-01-10' });
  const input = { fromKeeperId: from.keeperId, toKeeperId: to.keeperId, kind: 'gift', items: [{ animalId }], ...more };
  const { transfer } = await done('offerTransfer', input, from, 'transfer { id }');
  const transferId = transfer?.id ?? '';
  const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
  return { animalId, transferId, items, receipt: { transferId, receivedOn: TODAY, items } };
}
async function sent(more: object = {}) {
  const made = await offered(more);
  await done('acceptTransfer', { transferId: made.transferId }, receiver);
  await done('sendTransfer', { transferId: made.transferId, sentOn: TODAY }, giver);
  return made;
}

/** Who has an animal now, and how many hold it on some one day. */
async function holders(animalId: string): Promise<string | null> {
  const rows = await world.db.custody.findMany({ where: { animalId, supersededAt: null, validTo: null } });
  expect(rows).toHaveLength(1);
  return rows[0]?.keeperId ?? null;
}

describe.each(ORDERS)('a hand-over in person, %s', (order) => {
  it('(a) confirmed against (b) called off: one of them', async () => {
    const { transferId, animalId, items } = await offered();
    await done('acceptTransfer', { transferId }, receiver);
    const { code } = await done('openHandOver', { transferId }, giver, 'code');
    const both = await outcomes(
      { table: 'transfer', id: transferId },
      order,
      () => run('confirmHandOver', { transferId, code, items }, receiver),
      () => run('cancelTransfer', { transferId, reason: 'Another day.' }, giver),
    );
    if (order === 'a first') expect(both).toEqual(['done', 'TRANSFER_NOT_CANCELLABLE']);
    else expect(both).toEqual(['HAND_OVER_NOT_OPEN', 'done']);
    expect(await holders(animalId)).toBe(order === 'a first' ? receiver.keeperId : giver.keeperId);
  });

  it('(a) and (b) the same code at once: one receipt', async () => {
    const { transferId, items } = await offered();
    const { code } = await done('openHandOver', { transferId }, giver, 'code');
    const confirm = () => run('confirmHandOver', { transferId, code, items }, receiver);
    const both = await outcomes({ table: 'transfer', id: transferId }, order, confirm, confirm);
    expect(both.toSorted()).toEqual(['HAND_OVER_CODE_USED', 'done']);
    const entries = await world.db.ledgerEntry.findMany({ where: { subjects: { has: transferId } } });
    expect(entries.filter(({ action }) => action === 'transfer.received')).toHaveLength(1);
  });
});

describe.each(ORDERS)('eggs, %s', (order) => {
  async function clutch(): Promise<string> {
    const damId = await world.animal(giver, taxonId, { sex: 'female', since: '2026-01-10' });
    const input = { damId, eggCount: 3, laid: TODAY, separateClutch: true };
    return (await done('recordClutch', input, giver, 'clutch { id }')).clutch?.id ?? '';
  }
  const offer = (clutchId: string, to: TestKeeper) => {
    const eggs = [{ clutchId, numbers: [1, 2] }];
    const input = { fromKeeperId: giver.keeperId, toKeeperId: to.keeperId, kind: 'gift', items: [], eggs };
    return run('offerTransfer', input, giver, 'transfer { id }');
  };

  it('(a) and (b) offered to two: one offer holds them', async () => {
    const clutchId = await clutch();
    const other = await world.keeper('Other');
    const both = await outcomes(
      { table: 'clutch', id: clutchId },
      order,
      () => offer(clutchId, receiver),
      () => offer(clutchId, other),
    );
    expect(both.toSorted()).toEqual(['TRANSFER_EGG_OPEN', 'done']);
    expect(await world.db.transferEgg.count({ where: { open: true, egg: { clutchId } } })).toBe(2);
  });

  it('(a) offered while (b) it hatches: what hatched is not sent as an egg', async () => {
    const clutchId = await clutch();
    const both = await outcomes(
      { table: 'clutch', id: clutchId },
      order,
      () => offer(clutchId, receiver),
      () => run('recordHatchlings', { clutchId, when: TODAY, young: [{ eggNumber: 1 }] }, giver),
    );
    const egg = { clutchId, number: 1 };
    const open = await world.db.transferEgg.findFirst({ where: { open: true, egg } });
    const young = await world.db.hatching.count({ where: { clutchId } });
    if (order === 'b first') expect([both, open, young]).toEqual([['EGG_ENDED', 'done'], null, 1]);
    else {
      // What hatched after it was promised is a young one now: it is not sent as an egg.
      expect([both, young]).toEqual([['done', 'done'], 1]);
      const transferId = open?.transferId ?? '';
      await done('acceptTransfer', { transferId }, receiver);
      expect(told(await run('sendTransfer', { transferId, sentOn: TODAY }, giver))).toBe('TRANSFER_EGG_GONE');
    }
  });

  it('(a) received while (b) the giver records that one hatched: who has the egg says so', async () => {
    const clutchId = await clutch();
    const { data } = await offer(clutchId, receiver);
    const transferId = data?.['offerTransfer']?.transfer?.id ?? '';
    await done('acceptTransfer', { transferId }, receiver);
    await done('sendTransfer', { transferId, sentOn: TODAY }, giver);
    const eggs = [{ clutchId, numbers: [1, 2], state: 'well' }];
    const both = await outcomes(
      { table: 'clutch', id: clutchId },
      order,
      () => run('receiveTransfer', { transferId, receivedOn: TODAY, items: [], eggs }, receiver),
      () => run('recordHatchlings', { clutchId, when: TODAY, young: [{ eggNumber: 1 }] }, giver),
    );
    expect(both[0]).toBe('done');
    expect(both[1]).not.toBe('done');
    expect(both[1]).not.toBe('INTERNAL');
    expect(await world.db.hatching.count({ where: { clutchId } })).toBe(0);
  });
});

describe.each(ORDERS)('what a keeper sets for an animal, and its receipt by another, %s', (order) => {
  it('(a) received against (b) granted: no guest of the giver stays', async () => {
    const guest = await world.keeper('Guest');
    const { animalId, receipt } = await sent();
    const both = await outcomes(
      { table: 'animal', id: animalId },
      order,
      () => run('receiveTransfer', receipt, receiver),
      () => run('grantReading', { animalId, toKeeperId: guest.keeperId, until: TODAY }, giver),
    );
    expect(both[0]).toBe('done');
    expect(['done', 'FORBIDDEN', 'NOT_FOUND']).toContain(both[1]);
    const sees = await test.ask('query ($id: ID!) { animal(id: $id) { id } }', { id: animalId }, guest.token);
    expect(told(sees)).toBe('NOT_FOUND');
  });

  it('(a) received against (b) moved to a collection: it is in no collection of the giver', async () => {
    const { animalId, receipt } = await sent();
    const made = await run(
      'openCollection',
      { keeperId: giver.keeperId, name: `C ${animalId}` },
      giver,
      'collection { id }',
    );
    const collectionId = (made.data?.['openCollection'] as unknown as { collection: { id: string } }).collection.id;
    const both = await outcomes(
      { table: 'animal', id: animalId },
      order,
      () => run('receiveTransfer', receipt, receiver),
      () => run('moveToCollection', { animalIds: [animalId], collectionId }, giver),
    );
    expect(both[0]).toBe('done');
    expect(both[1]).not.toBe('INTERNAL');
    const there = await world.db.collectionStay.count({
      where: { collectionId, endedAt: null, access: { validTo: null } },
    });
    expect(there).toBe(0);
    expect(await holders(animalId)).toBe(receiver.keeperId);
  });

  it('(a) a claim of ownership against (b) accepting an offer: the claim then stands in the way of sending', async () => {
    const { animalId, receipt, transferId: first } = await sent();
    await done('receiveTransfer', receipt, receiver);
    await endQuarantine(world.db, animalId, dayOf(new Date()));
    const third = await world.keeper('Third');
    const input = { fromKeeperId: receiver.keeperId, toKeeperId: third.keeperId, kind: 'gift', items: [{ animalId }] };
    const { transfer } = await done('offerTransfer', input, receiver, 'transfer { id }');
    const transferId = transfer?.id ?? '';
    const claim = {
      keeperId: giver.keeperId,
      animalId,
      share: { parts: 1, of: 2 },
      since: '2026-01-10',
      statement: 'Half.',
    };
    const both = await outcomes(
      { table: 'animal', id: animalId },
      order,
      () => run('claimOwnership', claim, giver),
      () => run('acceptTransfer', { transferId }, third),
    );
    expect([first === transferId, both]).toEqual([false, ['done', 'done']]);
    expect(told(await run('sendTransfer', { transferId, sentOn: TODAY }, receiver))).toBe('TRANSFER_CHECK_BLOCKS');
  });
});

describe.each(ORDERS)('guardians, %s', (order) => {
  it('(a) a guardian leaves against (b) countersigning: nobody signs who guards no more', async () => {
    const minor = await world.minor();
    const second = await world.keeper('Second guardian');
    await world.guard(minor, second, minor.guardian);
    const { transferId } = await offered({}, giver, minor);
    await done('acceptTransfer', { transferId }, minor);
    const leave = { keeperId: minor.keeperId, accountId: second.accountId };
    const both = await outcomes(
      { table: 'keeper', id: minor.keeperId },
      order,
      () => run('endKeeperMembership', leave, second),
      () => run('countersignTransfer', { transferId }, second),
    );
    const signed = await world.db.transferCountersignature.count({ where: { transferId, voidedAt: null } });
    if (order === 'a first') expect([both[0], signed]).toEqual(['done', 0]);
    else expect([both, signed]).toEqual([['done', 'done'], 1]);
  });
});

describe.each(ORDERS)('a countersignature, %s', (order) => {
  it('(a) taken back against (b) sending: nothing is on its way that nobody agreed to', async () => {
    const minor = await world.minor();
    const { transferId } = await offered({}, giver, minor);
    await done('acceptTransfer', { transferId }, minor);
    await done('countersignTransfer', { transferId }, minor.guardian);
    const both = await outcomes(
      { table: 'transfer', id: transferId },
      order,
      () => run('withdrawCountersignature', { transferId }, minor.guardian),
      () => run('sendTransfer', { transferId, sentOn: TODAY }, giver),
    );
    const signed = await world.db.transferCountersignature.count({ where: { transferId, voidedAt: null } });
    if (order === 'a first') expect([both, signed]).toEqual([['done', 'TRANSFER_COUNTERSIGNATURE_AWAITED'], 0]);
    else expect([both, signed]).toEqual([['TRANSFER_COUNTERSIGN_LATE', 'done'], 1]);
  });
});

describe.each(ORDERS)('into a club, %s', (order) => {
  it('(a) an invitation accepted against (b) the application answered: one membership', async () => {
    const slug = await world.clubSlug();
    const registrar = await world.keeper('Registrar');
    const club = await world.db.club.findUniqueOrThrow({ where: { slug } });
    await world.db.clubMember.create({
      data: { clubId: club.id, keeperId: registrar.keeperId, joinedOn: new Date('2026-01-01') },
    });
    await world.db.office.create({
      data: {
        id: crypto.randomUUID(),
        clubId: club.id,
        accountId: registrar.accountId,
        validFrom: new Date('2026-01-01'),
      },
    });
    const comer = await world.keeper('Comer');
    await done('applyToClub', { keeperId: comer.keeperId, slug }, comer);
    const { id: applicationId } = await world.db.clubApplication.findFirstOrThrow({ where: { clubId: club.id } });
    await done('inviteToClub', { clubId: club.id, keeperId: comer.keeperId }, registrar);
    const { id: invitationId } = await world.db.clubInvitation.findFirstOrThrow({ where: { clubId: club.id } });
    const both = await outcomes(
      { table: 'club', id: club.id },
      order,
      () => run('acceptClubInvitation', { keeperId: comer.keeperId, invitationId }, comer),
      () => run('answerApplication', { applicationId, admit: true }, registrar),
    );
    if (order === 'a first') expect(both).toEqual(['done', 'APPLICATION_OVER']);
    else expect(both).toEqual(['IN_CLUB_ALREADY', 'done']);
    expect(await world.db.clubMember.count({ where: { clubId: club.id, keeperId: comer.keeperId } })).toBe(1);
  });
});

describe.each(ORDERS)('being forgotten, %s', (order) => {
  const forget = (who: TestKeeper) => run('forgetMe', { password: PASSWORD }, who);

  it('(a) forgotten against (b) an offer to that keeper: no open offer to somebody forgotten', async () => {
    const leaver = await world.keeper('Leaver');
    const animalId = await world.animal(giver, taxonId, { since: '2026-01-10' });
    const offer = { fromKeeperId: giver.keeperId, toKeeperId: leaver.keeperId, kind: 'gift', items: [{ animalId }] };
    const both = await outcomes(
      { table: 'keeper', id: leaver.keeperId },
      order,
      () => forget(leaver),
      () => run('offerTransfer', offer, giver),
    );
    if (order === 'a first') expect(both).toEqual(['done', 'NOT_FOUND']);
    else expect(both).toEqual(['FORGET_UNSETTLED', 'done']);
  });

  it('(a) forgotten against (b) accepting an offer: it is accepted, and stands in the way', async () => {
    const leaver = await world.keeper('Leaver');
    const { transferId } = await offered({}, giver, leaver);
    const both = await outcomes(
      { table: 'keeper', id: leaver.keeperId },
      order,
      () => forget(leaver),
      () => run('acceptTransfer', { transferId }, leaver),
    );
    expect(both).toEqual(['FORGET_UNSETTLED', 'done']);
  });

  it.each(['account', 'keeper'] as const)(
    '(a) forgotten against (b) an animal registered from elsewhere: no keeper without a person has it (%s)',
    async (table) => {
      const leaver = await world.keeper('Leaver');
      const both = await outcomes(
        { table, id: table === 'account' ? leaver.accountId : leaver.keeperId },
        order,
        () => forget(leaver),
        () => run('registerAnimal', { keeperId: leaver.keeperId, taxonId }, leaver),
      );
      const has = await world.db.custody.count({ where: { keeperId: leaver.keeperId, validTo: null } });
      expect(both).not.toContain('INTERNAL');
      expect([both.filter((one) => one === 'done').length, has]).toEqual([1, both[1] === 'done' ? 1 : 0]);
    },
  );

  it('(a) forgotten against (b) accepting an invitation with a code that came to another address: nobody without a name acts', async () => {
    const [owner, leaver] = [await world.keeper('Owner'), await world.keeper('Leaver')];
    const friend = await world.keeper('Friend');
    const email = await world.emailOf(friend);
    await done('inviteToKeeper', { keeperId: owner.keeperId, email, role: 'owner' }, owner, 'keeperId');
    const code = await world.codeFor(friend);
    const both = await outcomes(
      { table: 'account', id: leaver.accountId },
      order,
      () => forget(leaver),
      () => world.accept(code, leaver),
    );
    expect(both[0]).toBe('done');
    expect(both[1]).not.toBe('INTERNAL');
    const acts = await world.db.keeperMember.count({ where: { accountId: leaver.accountId, endedAt: null } });
    expect(acts).toBe(0);
  });

  it('(a) forgotten against (b) being appointed registrar: an office is held by somebody who is there', async () => {
    const [registrar, leaver, third] = [
      await world.keeper('Registrar'),
      await world.keeper('Leaver'),
      await world.keeper('Third'),
    ];
    const slug = `c-${leaver.keeperId.slice(-12)}`;
    await done('foundClub', { keeperId: registrar.keeperId, slug, name: 'A club' }, registrar);
    const { id: clubId } = await world.db.club.findUniqueOrThrow({ where: { slug } });
    await world.db.clubMember.createMany({
      data: [leaver, third].map(({ keeperId }) => ({ clubId, keeperId, joinedOn: new Date('2026-01-01') })),
    });
    const email = await world.emailOf(leaver);
    const both = await outcomes(
      { table: 'account', id: leaver.accountId },
      order,
      () => forget(leaver),
      () => run('appointCoordinator', { clubId, email }, registrar),
    );
    expect(both).toEqual(order === 'a first' ? ['done', 'ACCOUNT_FORGOTTEN'] : ['done', 'done']);
    const held = await world.db.office.count({ where: { accountId: leaver.accountId, validTo: null } });
    expect(held).toBe(0);
  });

  it('(a) the inviter forgotten against (b) accepting: nobody joins a keeper that was forgotten', async () => {
    const [owner, friend] = [await world.keeper('Owner'), await world.keeper('Friend')];
    await done(
      'inviteToKeeper',
      { keeperId: owner.keeperId, email: await world.emailOf(friend), role: 'owner' },
      owner,
      'keeperId',
    );
    const code = await world.codeFor(friend);
    const both = await outcomes(
      { table: 'keeper', id: owner.keeperId },
      order,
      () => forget(owner),
      () => world.accept(code, friend),
    );
    expect(both[0]).toBe('done');
    const acts = await world.db.keeperMember.count({ where: { keeperId: owner.keeperId, endedAt: null } });
    expect([acts, both[1]]).toEqual(order === 'a first' ? [0, 'CODE_NOT_GOOD'] : [1, 'done']);
  });

  it.each(['account', 'keeper'] as const)(
    '(a) forgotten against (b) a notice to that person: nothing is left to be mailed or read (%s)',
    async (table) => {
      const leaver = await world.keeper('Leaver');
      const animalId = await world.animal(giver, taxonId, { since: '2026-01-10' });
      const offer = { fromKeeperId: giver.keeperId, toKeeperId: leaver.keeperId, kind: 'gift', items: [{ animalId }] };
      const { transfer } = await done('offerTransfer', offer, giver, 'transfer { id }');
      await done('declineTransfer', { transferId: transfer?.id }, leaver);
      const club = await world.clubSlug();
      const registrar = await world.keeper('Registrar');
      const { id: clubId } = await world.db.club.findUniqueOrThrow({ where: { slug: club } });
      await world.db.clubMember.create({
        data: { clubId, keeperId: registrar.keeperId, joinedOn: new Date('2026-01-01') },
      });
      await world.db.office.create({
        data: { id: crypto.randomUUID(), clubId, accountId: registrar.accountId, validFrom: new Date('2026-01-01') },
      });
      await done('applyToClub', { keeperId: leaver.keeperId, slug: club }, leaver);
      const { id: applicationId } = await world.db.clubApplication.findFirstOrThrow({ where: { clubId } });
      const both = await outcomes(
        { table, id: table === 'account' ? leaver.accountId : leaver.keeperId },
        order,
        () => forget(leaver),
        () => run('answerApplication', { applicationId, admit: false, reason: 'WORD of the club' }, registrar),
      );
      expect(both[0]).toBe('done');
      expect(both).not.toContain('INTERNAL');
      expect(await world.db.mailMessage.count({ where: { accountId: leaver.accountId } })).toBe(0);
      expect(await world.db.notice.count({ where: { keeperId: leaver.keeperId } })).toBe(0);
    },
  );

  it('(a) forgotten against (b) a job that writes to that keeper: no notice, no mail', async () => {
    const leaver = await world.keeper('Leaver');
    const { keeperId } = leaver;
    const uow = test.app.get(UnitOfWork, { strict: false });
    const notice = { keeperId, kind: 'thread_message', body: {}, dueOn: null, dedupeKey: `meeting:${keeperId}` };
    const write = () =>
      uow.writeAsServer(null, async (tx) =>
        decide(await test.app.get(NoticeStore, { strict: false }).write(tx, notice)),
      );
    const both = await outcomes(
      { table: 'keeper', id: keeperId },
      order,
      () => forget(leaver),
      async () => ({ status: 200, data: await write() }),
    );
    expect(both).toEqual(['done', 'done']);
    expect(await world.db.mailMessage.count({ where: { accountId: leaver.accountId } })).toBe(0);
    expect(await world.db.notice.count({ where: { keeperId } })).toBe(0);
    expect(await write()).toBeNull();
  });
});

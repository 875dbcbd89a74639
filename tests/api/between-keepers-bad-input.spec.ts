import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { JwtService } from '@nestjs/jwt';
import { v7 as uuid } from 'uuid';
import {
  formatSpokenCode,
  makeSpokenCode,
  SHORT_PAYLOAD_LENGTH,
} from '../../libs/transfer/hand-over/spoken-code.core.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, type GraphqlError, startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let giver: TestKeeper;
let receiver: TestKeeper;
let stranger: TestKeeper;
/** Ids of things that are there, and none of the stranger's. */
const real: Record<string, string> = {};
let own = '';
let lot = '';

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  [giver, receiver, stranger] = [
    await world.keeper('Giver'),
    await world.keeper('Receiver'),
    await world.keeper('Third'),
  ];
  const taxonId = await world.taxon();
  real['animal'] = await world.animal(giver, taxonId, { since: '2026-01-01' });
  own = await world.animal(stranger, taxonId, { since: '2026-01-01' });
  lot = await world.lot(stranger, taxonId, 9, { since: '2026-01-01' });
  real['keeper'] = giver.keeperId;
  real['account'] = giver.accountId;
  real['club'] = await world.club(giver, receiver);
  const offer = { fromKeeperId: giver.keeperId, toKeeperId: receiver.keeperId, kind: 'gift' };
  const condition = { kind: 'other', text: 'After the holidays.' };
  const offered = await run(
    'offerTransfer',
    { ...offer, items: [{ animalId: real['animal'] }], conditions: [condition] },
    giver,
  );
  real['transfer'] = (offered.data as { offerTransfer: { transfer: { id: string } } }).offerTransfer.transfer.id;
  real['condition'] = (await world.db.transferCondition.findFirstOrThrow()).id;
  await run('inviteToKeeper', { keeperId: giver.keeperId, email: 'a@example.org', role: 'helper' }, giver);
  real['invitation'] = (await world.db.invitation.findFirstOrThrow()).id;
  await makeTies(taxonId);
});
afterAll(async () => {
  await world.close();
  await test.close();
});

/** A sale that waits for payment, a payment, a claim, a hand-over that is open, a guest, a thread and an office. */
async function makeTies(taxonId: string): Promise<void> {
  const { db } = world;
  const [sold, asked] = [
    await world.animal(giver, taxonId, { since: '2026-01-01' }),
    await world.animal(giver, taxonId, { since: '2026-01-01' }),
  ];
  const sale = { kind: 'sale', title: 'when_paid', price: { minor: 1_000, currency: 'EUR' } };
  const terms = { fromKeeperId: giver.keeperId, toKeeperId: receiver.keeperId, items: [{ animalId: sold }], ...sale };
  const answer = await made('offerTransfer', terms, giver);
  const transferId = (answer.data as { offerTransfer: { transfer: { id: string } } }).offerTransfer.transfer.id;
  real['sale'] = transferId;
  await made('acceptTransfer', { transferId }, receiver);
  await made('declarePayment', { transferId, minor: 400, paidOn: '2026-01-02' }, receiver);
  real['payment'] = (await db.transferPayment.findFirstOrThrow()).id;
  await made('openHandOver', { transferId }, giver);
  real['handOver'] = (await db.handOverCode.findFirstOrThrow()).id;
  const share = { parts: 1, of: 2 };
  const claim = { keeperId: receiver.keeperId, animalId: sold, share, since: '2026-01-02', statement: 'We agreed.' };
  await made('claimOwnership', claim, receiver);
  real['claim'] = (await db.ownershipClaim.findFirstOrThrow()).id;
  await made('grantReading', { animalId: asked, toKeeperId: receiver.keeperId, until: inAMonth }, giver);
  real['grant'] = (await db.readingGrant.findFirstOrThrow()).accessId;
  await made('askHolder', { animalId: asked, message: 'Is he free?' }, receiver);
  real['thread'] = (await db.askThread.findFirstOrThrow()).id;
  const office = { id: uuid(), clubId: real['club'] ?? '', accountId: giver.accountId, taxonId };
  await db.office.create({ data: { ...office, validFrom: new Date('2026-01-01') } });
  real['office'] = office.id;
}

/** The same as `run`, of something that must be done. */
async function made(name: string, input: object, who: TestKeeper): Promise<Answer<unknown>> {
  const answer = await run(name, input, who);
  if (answer.errors !== undefined) throw new Error(`${name}: ${JSON.stringify(answer.errors)}`);
  return answer;
}

const inAMonth = new Date(Date.now() + 30 * 86_400_000).toISOString().slice(0, 10);

const FIELDS: Record<string, string> = { offerTransfer: 'transfer { id }', acceptInvitation: '__typename' };

function run(name: string, input: object, who?: TestKeeper): Promise<Answer<unknown>> {
  const type = `${name[0]?.toUpperCase()}${name.slice(1)}Input!`;
  const query = `mutation ($input: ${type}) { ${name}(input: $input) { ${FIELDS[name] ?? '__typename'} } }`;
  return test.ask(query, { input }, who?.token);
}

/** Rows of every table but the counters of attempts, which are there to count them. */
async function rows(): Promise<Record<string, number>> {
  const tables = await world.db.$queryRaw<{ name: string }[]>`
    SELECT relname AS name FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace
      AND relname NOT IN ('_prisma_migrations', 'rate_limit') ORDER BY relname`;
  const counts: Record<string, number> = {};
  for (const { name } of tables) {
    const [row] = await world.db.$queryRawUnsafe<{ n: bigint }[]>(`SELECT count(*) AS n FROM "${name}"`);
    counts[name] = Number(row?.n);
  }
  return counts;
}

const told = ({ errors: [error] = [] }: Answer<unknown>) => [
  error?.extensions.code,
  error?.extensions.rule,
  error?.message,
];

/** A code of a hand-over in its right form. */
const CODE = formatSpokenCode(makeSpokenCode(counting(), SHORT_PAYLOAD_LENGTH));

function counting(): (below: number) => number {
  let drawn = 0;
  return (below) => (drawn += 7) % below;
}

// Each with the kind of thing whose id is forged; a mutation that others add has its line here.
const ARRIVED = { receivedOn: '2026-01-02', items: [{ animalId: uuid(), arrivals: [{ state: 'well', count: 1 }] }] };
const FORGED: [string, string, (id: string) => object][] = [
  ['acceptTransfer', 'transfer', (transferId) => ({ transferId })],
  ['declineTransfer', 'transfer', (transferId) => ({ transferId })],
  ['withdrawTransfer', 'transfer', (transferId) => ({ transferId })],
  ['cancelTransfer', 'transfer', (transferId) => ({ transferId, reason: 'No.' })],
  ['sendTransfer', 'transfer', (transferId) => ({ transferId, sentOn: '2026-01-02' })],
  ['receiveTransfer', 'transfer', (transferId) => ({ transferId, ...ARRIVED })],
  ['failTransfer', 'transfer', (transferId) => ({ transferId, failure: 'came_back' })],
  ['leaveOutItems', 'transfer', (transferId) => ({ transferId, animalIds: [uuid()] })],
  ['addArrivalPhotos', 'transfer', (transferId) => ({ transferId, animalId: uuid(), fileIds: [uuid()] })],
  ['countersignTransfer', 'transfer', (transferId) => ({ transferId })],
  ['withdrawCountersignature', 'transfer', (transferId) => ({ transferId })],
  ['declarePayment', 'transfer', (transferId) => ({ transferId, minor: 100, paidOn: '2026-01-02' })],
  ['confirmPayment', 'payment', (paymentId) => ({ paymentId })],
  ['questionPayment', 'payment', (paymentId) => ({ paymentId })],
  ['settleTransferCondition', 'transfer', (transferId) => ({ transferId, conditionId: uuid(), settledAs: 'met' })],
  ['openHandOver', 'transfer', (transferId) => ({ transferId })],
  ['confirmHandOver', 'transfer', (transferId) => ({ transferId, code: CODE, items: ARRIVED.items })],
  ['claimOwnership', 'animal', (animalId) => claimOf({ animalId })],
  ['claimOwnership', 'keeper', (keeperId) => claimOf({ animalId: own, keeperId })],
  ['replyToClaim', 'claim', (claimId) => ({ claimId, statement: 'No.' })],
  ['proposeShares', 'claim', (claimId) => ({ claimId, shares: [{ party: 1, parts: 1 }] })],
  ['agreeToShares', 'claim', (claimId) => ({ claimId, proposal: 1 })],
  ['withdrawClaim', 'claim', (claimId) => ({ claimId })],
  ['grantReading', 'animal', (animalId) => ({ animalId, toKeeperId: receiver.keeperId, until: inAMonth })],
  ['endGrant', 'grant', (grantId) => ({ grantId })],
  ['setAnimalSharing', 'animal', (animalId) => ({ animalIds: [animalId], lineageWithheld: true })],
  ['offerTransfer', 'keeper', (fromKeeperId) => offerOf({ fromKeeperId, items: [{ animalId: own }] })],
  ['offerTransfer', 'animal', (animalId) => offerOf({ items: [{ animalId }] })],
  ['offerTransfer', 'account', (toKeeperId) => offerOf({ items: [{ animalId: own }], toKeeperId })],
  ['splitLot', 'animal', (lotId) => ({ lotId, count: 1 })],
  ['recordDeath', 'animal', (animalId) => ({ animalId })],
  ['recordFate', 'animal', (animalId) => ({ animalId, fate: 'missing' })],
  ['inviteToKeeper', 'keeper', (keeperId) => ({ keeperId, email: 'b@example.org', role: 'helper' })],
  ['setKeeperRole', 'keeper', (keeperId) => ({ keeperId, accountId: giver.accountId, role: 'helper' })],
  ['endKeeperMembership', 'keeper', (keeperId) => ({ keeperId, accountId: giver.accountId })],
  ['endKeeperMembership', 'account', (accountId) => ({ keeperId: stranger.keeperId, accountId })],
  ['withdrawInvitation', 'invitation', (invitationId) => ({ keeperId: stranger.keeperId, invitationId })],
  ['leaveClub', 'club', (clubId) => ({ clubId, keeperId: giver.keeperId })],
  ['leaveClub', 'club', (clubId) => ({ clubId, keeperId: stranger.keeperId })],
  ['appointCoordinator', 'club', (clubId) => ({ clubId, email: 'c@example.org' })],
  ['inviteToClub', 'club', (clubId) => ({ clubId, email: 'd@example.org' })],
  ['withdrawClubInvitation', 'club', (clubId) => ({ clubId, invitationId: uuid() })],
  ['endOffice', 'office', (officeId) => ({ officeId })],
  ['handOverOffice', 'office', (officeId) => ({ officeId, email: 'e@example.org' })],
  ['askHolder', 'animal', (animalId) => ({ animalId, message: 'Is he free?' })],
  ['answerThread', 'thread', (threadId) => ({ threadId, message: 'Yes.' })],
  ['closeThread', 'thread', (threadId) => ({ threadId })],
  ['markThreadRead', 'thread', (threadId) => ({ threadId })],
];

const claimOf = (more: object): object => ({
  keeperId: stranger.keeperId,
  share: { parts: 1, of: 2 },
  since: '2026-01-02',
  statement: 'It is mine.',
  ...more,
});

const offerOf = (more: object): object => ({
  fromKeeperId: stranger.keeperId,
  kind: 'gift',
  ...('toKeeperId' in more ? {} : { toKeeperId: receiver.keeperId }),
  ...more,
});

describe('an id that is not the viewer’s', () => {
  it.each(FORGED)(
    '%s with the id of a %s of others: as if there were no such thing, and nothing is written',
    async (name, kind, input) => {
      const before = await rows();
      const unknown = told(await run(name, input(uuid()), stranger));
      expect(unknown[0]).toBe('NOT_FOUND');
      // Any keeper there is may be offered an animal: that it exists is no secret.
      const others = Object.entries(real).filter(
        ([what]) => !(kind === 'account' && name === 'offerTransfer' && what === 'keeper'),
      );
      for (const [what, id] of others) {
        // An id of the right kind, and ids of things of every other kind.
        expect([what, ...told(await run(name, input(id), stranger))]).toEqual([what, ...unknown]);
      }
      expect(await rows()).toEqual(before);
    },
  );

  it('the id of another animal in a receipt, from the receiver itself', async () => {
    const before = await rows();
    const answer = await run('leaveOutItems', { transferId: real['transfer'], animalIds: [own] }, giver);
    expect(told(answer).slice(0, 2)).toEqual(['RULE_REFUSED', 'TRANSFER_NOT_SENT']);
    expect(await rows()).toEqual(before);
  });
});

describe('numbers, days and words that cannot be', () => {
  it('an offer of nothing', async () => {
    const before = await rows();
    const answer = await run('offerTransfer', offerOf({ items: [] }), stranger);
    expect(told(answer).slice(0, 2)).toEqual(['RULE_REFUSED', 'TRANSFER_EMPTY']);
    expect(await rows()).toEqual(before);
  });

  const day = '2026-01-02';
  it.each<[string, () => [string, object], string]>([
    ...[0, -1].map((count): [string, () => [string, object], string] => [
      `a count of ${count}`,
      () => ['offerTransfer', offerOf({ items: [{ animalId: lot, count }] })],
      'input.items.0.count',
    ]),
    [
      'a count of 2^31',
      () => ['offerTransfer', offerOf({ items: [{ animalId: lot, count: 2 ** 31 }] })],
      'input.items.0.count',
    ],
    ['half an animal', () => ['splitLot', { lotId: lot, count: 1.5 }], 'input.count'],
    ['a split of 2^31', () => ['splitLot', { lotId: lot, count: 2 ** 31 }], 'input.count'],
    ...[1.5, -1, 2 ** 53].map((minor): [string, () => [string, object], string] => [
      `a price of ${minor}`,
      () => ['offerTransfer', offerOf({ kind: 'sale', items: [{ animalId: own }], price: { minor, currency: 'EUR' } })],
      'input.price.minor',
    ]),
    ...['ZZZ', 'euro', 'eur', ''].map((currency): [string, () => [string, object], string] => [
      `the currency "${currency}"`,
      () => ['offerTransfer', offerOf({ kind: 'sale', items: [{ animalId: own }], price: { minor: 100, currency } })],
      'input.price.currency',
    ]),
    ...['2026-02-30', '2026-13-01', '30.06.2026', ''].map((splitOn): [string, () => [string, object], string] => [
      `the day "${splitOn}"`,
      () => ['offerTransfer', offerOf({ items: [{ animalId: lot, count: 2 }], splitOn })],
      'input.splitOn',
    ]),
    ['an unknown kind', () => ['offerTransfer', offerOf({ kind: 'theft', items: [{ animalId: own }] })], 'input.kind'],
    [
      'an unknown arrival state',
      () => [
        'receiveTransfer',
        {
          transferId: real['transfer'],
          receivedOn: day,
          items: [{ animalId: own, arrivals: [{ state: 'gone', count: 1 }] }],
        },
      ],
      'input.items.0.arrivals.0.state',
    ],
    [
      'a list of 1,000 items',
      () => ['offerTransfer', offerOf({ items: Array.from({ length: 1_000 }, () => ({ animalId: uuid() })) })],
      'input.items',
    ],
    [
      'a message of 100,000 characters',
      () => ['offerTransfer', offerOf({ items: [{ animalId: own }], message: 'x'.repeat(100_000) })],
      'input.message',
    ],
    ['an id that is none', () => ['offerTransfer', offerOf({ items: [{ animalId: 'x' }] })], 'input.items.0.animalId'],
    [
      'two receivers',
      () => ['offerTransfer', offerOf({ items: [{ animalId: own }], toOutsideParty: { name: 'Buyer' } })],
      'input.toKeeperId',
    ],
    [
      'an address that is none',
      () => ['inviteToKeeper', { keeperId: stranger.keeperId, email: 'nobody', role: 'helper' }],
      'input.email',
    ],
    [
      'an unknown role',
      () => ['inviteToKeeper', { keeperId: stranger.keeperId, email: 'd@example.org', role: 'king' }],
      'input.role',
    ],
  ])('%s: the field and what to write instead', async (_, make, path) => {
    const before = await rows();
    const [name, input] = make();
    const { errors = [] } = await run(name, input, stranger);
    const { code, fields } = errors[0]?.extensions as GraphqlError['extensions'];
    expect(code).toBe('INVALID_INPUT');
    const field = fields.find((each) => each.path === path);
    expect({ path: field?.path, remedied: (field?.remedy ?? '').length > 0 }).toEqual({ path, remedied: true });
    expect(await rows()).toEqual(before);
  });
});

describe('documents that ask too much between keepers', () => {
  const steps = (n: number): string =>
    Array.from(
      { length: n },
      (_, i) => `a${i}: acceptTransfer(input: { transferId: "${uuid()}" }) { __typename }`,
    ).join(' ');
  it.each([
    ['a hundred steps under aliases', `mutation { ${steps(100)} }`],
    ['two steps in one operation', `mutation { ${steps(2)} }`],
    [
      'a circle through transfers and animals',
      `{ myTransfers(keeperId: "${uuid()}") { edges { node { items { animal { ${'dam { '.repeat(20)}id${' }'.repeat(20)} } } } } } }`,
    ],
  ])('%s: refused before anything runs', async (_, document) => {
    const before = await rows();
    const { status, errors } = await test.ask(document, {}, stranger.token);
    expect([status, errors?.[0]?.extensions.code]).toEqual([400, 'INVALID_INPUT']);
    expect(await rows()).toEqual(before);
  });

  it.each([0, -1, 101, 2 ** 31])('a page of %d transfers', async (first) => {
    const query = 'query ($k: ID!, $n: Int) { myTransfers(keeperId: $k, first: $n) { edges { cursor } } }';
    const { errors } = await test.ask(query, { k: stranger.keeperId, n: first }, stranger.token);
    expect(errors?.[0]?.extensions.code).toBe('INVALID_INPUT');
  });
});

describe('codes and tokens that were used, or are over', () => {
  it('a claim code: once; mistyped it is bad input, unknown it is as if used', async () => {
    const taxonId = await world.taxon();
    const animalId = await world.animal(giver, taxonId, { since: '2026-01-01' });
    const offer = {
      fromKeeperId: giver.keeperId,
      kind: 'gift',
      items: [{ animalId }],
      toOutsideParty: { name: 'Buyer' },
    };
    const { offerTransfer } = await test.get<{ offerTransfer: { claimCode: string } }>(
      'mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { claimCode } }',
      { input: offer },
      giver.token,
    );
    const take = (claimCode: string, who: TestKeeper) =>
      run('takeUpTransfer', { claimCode, keeperId: who.keeperId }, who);
    expect((await take(offerTransfer.claimCode, receiver)).errors).toBeUndefined();
    const before = await rows();
    const replayed = told(await take(offerTransfer.claimCode, stranger));
    expect(replayed[0]).toBe('NOT_FOUND');
    expect(told(await take(offerTransfer.claimCode, receiver))).toEqual(replayed);
    const mistyped = await take(`${offerTransfer.claimCode.slice(0, -1)}!`, stranger);
    expect(mistyped.errors?.[0]?.extensions).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'input.claimCode' }],
    });
    expect(await rows()).toEqual(before);
  });

  it('an invitation code: once, and one nobody was sent is refused in the same words', async () => {
    const { email } = await world.db.account.findUniqueOrThrow({ where: { id: stranger.accountId } });
    await run('inviteToKeeper', { keeperId: giver.keeperId, email, role: 'helper' }, giver);
    const mail = await world.db.mailMessage.findFirstOrThrow({
      where: { accountId: stranger.accountId, dedupeKey: { startsWith: 'invitation:' } },
      orderBy: { id: 'desc' },
    });
    const code = /^[\w-]{40,}$/m.exec(mail.text)?.[0] ?? '';
    expect((await run('acceptInvitation', { code }, stranger)).errors).toBeUndefined();
    const before = await rows();
    const replayed = told(await run('acceptInvitation', { code }, receiver));
    expect(replayed.slice(0, 2)).toEqual(['RULE_REFUSED', 'CODE_NOT_GOOD']);
    expect(told(await run('acceptInvitation', { code: 'x'.repeat(43) }, receiver))).toEqual(replayed);
    expect(await rows()).toEqual(before);
  });

  it('an access token that is over, of another secret, of no secret, and of a session that was ended', async () => {
    const claims = { sub: giver.accountId, sid: sessionOf(giver.token) };
    const jwt = test.app.get(JwtService, { strict: false });
    const part = (value: object): string => Buffer.from(JSON.stringify(value)).toString('base64url');
    const tokens = [
      await jwt.signAsync(claims, { expiresIn: -10 }),
      await jwt.signAsync(claims, { secret: 'another secret of at least 32 characters', expiresIn: 60 }),
      `${part({ alg: 'none', typ: 'JWT' })}.${part({ ...claims, exp: 4_000_000_000 })}.`,
      'x',
    ];
    for (const token of tokens) expect(told(await test.ask('{ me { email } }', {}, token))[0]).toBe('UNAUTHENTICATED');
    // The same claims, signed as the server does, are let in: the refusals above are not for another reason.
    const good = await jwt.signAsync(claims, { expiresIn: 60 });
    expect((await test.ask('{ me { email } }', {}, good)).errors).toBeUndefined();
    await run('endSession', { sessionId: sessionOf(receiver.token) }, receiver);
    const over = await run('declineTransfer', { transferId: real['transfer'] }, receiver);
    expect(told(over)[0]).toBe('UNAUTHENTICATED');
  });

  it('a refresh token that nobody was given, and one of a session that is over', async () => {
    const opened = await test.get<{ openAccount: { refreshToken: string } }>(
      'mutation ($input: OpenAccountInput!) { openAccount(input: $input) { refreshToken } }',
      { input: { email: `${uuid()}@example.org`, password: 'a long enough password', keeperName: 'Short' } },
    );
    const { refreshToken } = opened.openAccount;
    expect((await run('renewSession', { refreshToken })).errors).toBeUndefined();
    await world.db.session.updateMany({ data: { expiresAt: new Date(0) } });
    const before = await rows();
    for (const token of [refreshToken, 'x'.repeat(43)])
      expect(told(await run('renewSession', { refreshToken: token }))[0]).toBe('UNAUTHENTICATED');
    expect(await rows()).toEqual(before);
  });
});

/** The session an access token belongs to; its claims can be read by whoever has it (RFC 7519). */
function sessionOf(token: string): string {
  const claims = JSON.parse(Buffer.from(token.split('.')[1] ?? '', 'base64url').toString()) as { sid: string };
  return claims.sid;
}

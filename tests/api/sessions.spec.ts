import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { RegistryWorld } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

const PASSWORD = 'a long enough password';
const TOKENS = 'accessToken refreshToken sessionId';
type Tokens = { accessToken: string; refreshToken: string; sessionId: string };

let test: TestApp;
let world: RegistryWorld;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

const mutation = <T>(name: string, fields: string, input: object, token?: string, headers = {}): Promise<Answer<T>> => {
  const type = `${name[0]?.toUpperCase()}${name.slice(1)}Input`;
  return test.ask(`mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`, { input }, token, headers);
};
const codeOf = ({ errors }: Answer<unknown>) => errors?.[0]?.extensions.rule ?? errors?.[0]?.extensions.code;

async function open(email = `${uuid()}@example.org`): Promise<Tokens & { email: string; accountId: string }> {
  const input = { email, password: PASSWORD, keeperName: 'Somebody' };
  const { data } = await mutation<{ openAccount: Tokens & { accountId: string } }>(
    'openAccount',
    `${TOKENS} accountId`,
    input,
  );
  if (data === null) throw new Error('no account');
  return { ...data.openAccount, email };
}
const signIn = (email: string, password = PASSWORD, headers = {}) =>
  mutation<{ signIn: Tokens }>('signIn', TOKENS, { email, password }, undefined, headers);
const renew = (refreshToken: string) => mutation<{ renewSession: Tokens }>('renewSession', TOKENS, { refreshToken });
async function signedIn(email: string, password = PASSWORD): Promise<Tokens> {
  const { data } = await signIn(email, password);
  if (data === null) throw new Error('not signed in');
  return data.signIn;
}
const works = async (accessToken: string) => codeOf(await test.ask('{ me { accountId } }', {}, accessToken)) ?? 'yes';
const lastCode = async (accountId: string) => {
  const mail = await world.db.mailMessage.findFirst({ where: { accountId, kind: 'account' }, orderBy: { id: 'desc' } });
  return /^[\w-]{43}$/m.exec(mail?.text ?? '')?.[0] ?? 'no code';
};

describe('a session', () => {
  it('goes on with the next refresh token, and keeps neither token in clear', async () => {
    const first = await open();
    const second = (await renew(first.refreshToken)).data?.renewSession;
    expect(second?.sessionId).toBe(first.sessionId);
    expect(second?.refreshToken).not.toBe(first.refreshToken);
    const third = (await renew(second?.refreshToken ?? '')).data?.renewSession;
    expect(await works(third?.accessToken ?? '')).toBe('yes');
    const kept = await world.db.refreshToken.findMany({ where: { sessionId: first.sessionId } });
    expect(kept).toHaveLength(3);
    for (const { hash } of kept)
      expect(Buffer.from(hash).toString('utf8')).not.toContain(first.refreshToken.slice(0, 10));
  });

  it('a lost answer may be asked for again at once; a token that comes later ends the session for all who have it', async () => {
    const first = await open();
    const lost = (await renew(first.refreshToken)).data?.renewSession;
    const again = (await renew(first.refreshToken)).data?.renewSession;
    expect(again?.sessionId).toBe(first.sessionId);
    expect(await works(again?.accessToken ?? '')).toBe('yes');

    await world.db.refreshToken.updateMany({
      where: { sessionId: first.sessionId, usedAt: { not: null } },
      data: { usedAt: new Date(Date.now() - 60_000) },
    });
    expect(codeOf(await renew(lost?.refreshToken ?? ''))).toBe('UNAUTHENTICATED');
    expect(await works(again?.accessToken ?? '')).toBe('UNAUTHENTICATED');
    expect(codeOf(await renew(again?.refreshToken ?? ''))).toBe('UNAUTHENTICATED');
    const session = await world.db.session.findUniqueOrThrow({ where: { id: first.sessionId } });
    expect(session.endedBy).toBe('token_reused');
  });

  it('renewed by many at once leaves one unused token', async () => {
    const first = await open();
    const answers = await Promise.all(Array.from({ length: 6 }, () => renew(first.refreshToken)));
    expect(answers.map((answer) => codeOf(answer) ?? 'renewed')).toEqual(Array.from({ length: 6 }, () => 'renewed'));
    const unused = await world.db.refreshToken.count({ where: { sessionId: first.sessionId, usedAt: null } });
    expect(unused).toBe(1);
  });

  it('is listed, and ended from another device at once', async () => {
    const { email, accessToken } = await open();
    const other = await signedIn(email);
    const list = async () =>
      (
        await test.get<{ mySessions: { id: string; inUse: boolean }[] }>(
          '{ mySessions { id inUse device } }',
          {},
          accessToken,
        )
      ).mySessions;
    expect((await list()).map(({ inUse }) => inUse).toSorted()).toEqual([false, true]);
    const stranger = await open();
    expect(
      codeOf(await mutation('endSession', 'sessionId', { sessionId: other.sessionId }, stranger.accessToken)),
    ).toBe('NOT_FOUND');
    expect(await works(other.accessToken)).toBe('yes');
    expect(
      codeOf(await mutation('endSession', 'sessionId', { sessionId: other.sessionId }, accessToken)),
    ).toBeUndefined();
    expect(await works(other.accessToken)).toBe('UNAUTHENTICATED');
    expect((await list()).map(({ inUse }) => inUse)).toEqual([true]);
    // Without an id: the one in use.
    expect(codeOf(await mutation('endSession', 'sessionId', {}, accessToken))).toBeUndefined();
    expect(await works(accessToken)).toBe('UNAUTHENTICATED');
  });

  it('wants its own account: a token of one account with the session of another opens nothing', async () => {
    const [one, other] = [await open(), await open()];
    await world.db.session.update({ where: { id: one.sessionId }, data: { accountId: other.accountId } });
    expect(await works(one.accessToken)).toBe('UNAUTHENTICATED');
  });

  it.each(['', 'x', 'a'.repeat(43), 'a'.repeat(101)])('no refresh token: %j', async (refreshToken) => {
    expect(['UNAUTHENTICATED', 'INVALID_INPUT']).toContain(codeOf(await renew(refreshToken)));
  });
});

describe('guessing passwords', () => {
  it('has to wait after five; the right password is refused then too, and another client is not kept out', async () => {
    const { email } = await open();
    const here = { 'x-forwarded-for': '203.0.113.7' };
    for (let times = 0; times < 5; times += 1)
      expect(codeOf(await signIn(email, 'not the password', here))).toBe('UNAUTHENTICATED');
    const refused = await signIn(email, PASSWORD, here);
    expect([codeOf(refused), refused.errors?.[0]?.message]).toEqual([
      'RATE_LIMITED',
      expect.stringMatching(/Try again in \d+ seconds\./),
    ]);
    expect(codeOf(await signIn(email, PASSWORD, { 'x-forwarded-for': '203.0.113.8' }))).toBeUndefined();
  });

  it('many at once are counted all the same', async () => {
    const { email } = await open();
    const here = { 'x-forwarded-for': '203.0.113.9' };
    const answers = await Promise.all(Array.from({ length: 12 }, () => signIn(email, 'not the password', here)));
    const counts = answers.map(codeOf);
    expect(counts.filter((code) => code === 'UNAUTHENTICATED')).toHaveLength(5);
    expect(counts.filter((code) => code === 'RATE_LIMITED')).toHaveLength(7);
  });

  it('those who know theirs are not slowed down', async () => {
    const { email } = await open();
    for (let times = 0; times < 8; times += 1) expect(codeOf(await signIn(email))).toBeUndefined();
  });

  it('asking which addresses have accounts by opening them ends after ten', async () => {
    const { email } = await open();
    const input = { email, password: PASSWORD, keeperName: 'Somebody' };
    const here = { 'x-forwarded-for': '203.0.113.10' };
    const ask = (more = {}) => mutation('openAccount', 'accountId', { ...input, ...more }, undefined, here);
    for (let times = 0; times < 10; times += 1) expect(codeOf(await ask())).toBe('EMAIL_TAKEN');
    expect(codeOf(await ask())).toBe('RATE_LIMITED');
    // Whoever reads the address hears of it, once a day.
    const told = await world.db.mailMessage.findMany({
      where: { account: { email }, subject: 'Kithbook: you have an account' },
    });
    expect(told).toHaveLength(1);
    // A free address gets the same answer then, so that nothing is told.
    expect(codeOf(await ask({ email: `${uuid()}@example.org` }))).toBe('RATE_LIMITED');
  });
});

describe('the address', () => {
  it('is confirmed with the code from the mail, once, by its own account', async () => {
    const one = await open();
    const other = await open();
    const confirm = (code: string, token: string) => mutation('confirmEmail', 'accountId', { code }, token);
    const confirmed = async () =>
      (await test.get<{ me: { emailConfirmedAt: string | null } }>('{ me { emailConfirmedAt } }', {}, one.accessToken))
        .me.emailConfirmedAt;
    expect(await confirmed()).toBeNull();
    expect(codeOf(await confirm(await lastCode(one.accountId), other.accessToken))).toBe('CODE_NOT_GOOD');
    // A refused one is not used up.
    const code = await lastCode(one.accountId);
    expect(codeOf(await confirm(code, one.accessToken))).toBeUndefined();
    expect(await confirmed()).not.toBeNull();
    expect(codeOf(await confirm(code, one.accessToken))).toBe('CODE_NOT_GOOD');
    expect(codeOf(await mutation('requestEmailConfirmation', 'accountId', { email: one.email }, one.accessToken))).toBe(
      'EMAIL_CONFIRMED',
    );
  });

  it('a new code makes the earlier one void, and a code is not shown in the registry itself', async () => {
    const { accountId, accessToken, email } = await open();
    const earlier = await lastCode(accountId);
    const again = (address: string) =>
      mutation('requestEmailConfirmation', 'accountId', { email: address }, accessToken);
    expect(codeOf(await again('another@example.org'))).toBe('INVALID_INPUT');
    expect(codeOf(await again(email))).toBeUndefined();
    expect(await lastCode(accountId)).not.toBe(earlier);
    expect(codeOf(await mutation('confirmEmail', 'accountId', { code: earlier }, accessToken))).toBe('CODE_NOT_GOOD');
    const { mailOutbox } = await test.get<{ mailOutbox: { edges: unknown[] } }>(
      '{ mailOutbox { edges { node { text } } } }',
      {},
      accessToken,
    );
    expect(mailOutbox.edges).toEqual([]);
  });
});

describe('the password', () => {
  it('is changed by the old one; other sign-ins end, this one goes on', async () => {
    const { email, accessToken } = await open();
    const other = await signedIn(email);
    const change = (current: string) =>
      mutation('changePassword', 'accountId', { current, next: 'another long password' }, accessToken);
    expect(codeOf(await change('not the password'))).toBe('PASSWORD_WRONG');
    expect(await works(other.accessToken)).toBe('yes');
    expect(codeOf(await change(PASSWORD))).toBeUndefined();
    expect([await works(other.accessToken), await works(accessToken)]).toEqual(['UNAUTHENTICATED', 'yes']);
    expect(codeOf(await signIn(email))).toBe('UNAUTHENTICATED');
    expect(codeOf(await signIn(email, 'another long password'))).toBeUndefined();
  });

  it('is reset with a mailed code, once; all sign-ins end', async () => {
    const { email, accountId, accessToken } = await open();
    const ask = (address: string) => mutation('requestPasswordReset', 'message', { email: address });
    const known = await ask(email.toUpperCase());
    expect(await ask(`${uuid()}@example.org`)).toMatchObject({ data: known.data });
    const code = await lastCode(accountId);
    const reset = () => mutation('resetPassword', 'message', { code, next: 'another long password' });
    const both = await Promise.all([reset(), reset()]);
    expect(both.map((answer) => codeOf(answer) ?? 'done').toSorted()).toEqual(['CODE_NOT_GOOD', 'done']);
    expect(await works(accessToken)).toBe('UNAUTHENTICATED');
    expect(codeOf(await signIn(email, 'another long password'))).toBeUndefined();
    const entries = await world.db.ledgerEntry.findMany({ where: { action: 'account.password-changed' } });
    expect(entries.map(({ body }) => body).join()).not.toContain('@');
  });

  it('too old a code, and one for something else, are not good', async () => {
    const { email, accountId } = await open();
    const confirmation = await lastCode(accountId);
    const reset = (code: string) => mutation('resetPassword', 'message', { code, next: 'another long password' });
    expect(codeOf(await reset(confirmation))).toBe('CODE_NOT_GOOD');
    await mutation('requestPasswordReset', 'message', { email });
    await world.db.accountCode.updateMany({
      where: { accountId, purpose: 'reset_password' },
      data: { expiresAt: new Date(Date.now() - 1) },
    });
    expect(codeOf(await reset(await lastCode(accountId)))).toBe('CODE_NOT_GOOD');
  });
});

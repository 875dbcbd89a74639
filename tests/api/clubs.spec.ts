import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let founder: TestKeeper;
let joiner: TestKeeper;
let stranger: TestKeeper;
let clubId: string;
const slug = `pond-${uuid().slice(-8)}`;

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  [founder, joiner, stranger] = [
    await world.keeper('Founder'),
    await world.keeper('Joiner'),
    await world.keeper('Stranger'),
  ];
});
afterAll(async () => {
  await world.close();
  await test.close();
});

const run = <T = string>(name: string, input: object, who: TestKeeper, fields: string) =>
  test.ask<Record<string, Record<string, T>>>(
    `mutation ($input: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { ${fields} } }`,
    { input },
    who.token,
  );
const wrong = (answer: Answer<unknown>) => answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code;
type Application = { id: string; keeperId: string; keeper: string; message: string | null };
const APPLICATION = 'application { id keeperId keeper message }';
const apply = (who: TestKeeper) =>
  run<Application>('applyToClub', { keeperId: who.keeperId, slug, message: 'May I?' }, who, APPLICATION);
const answer = (applicationId: string | undefined, admit: boolean, who: TestKeeper) =>
  run<Application>('answerApplication', { applicationId, admit, reason: 'So it is' }, who, APPLICATION);
const leave = (who: TestKeeper, by = who) => run('leaveClub', { clubId, keeperId: who.keeperId }, by, 'clubId');
const reads = async (who: TestKeeper, id: string) =>
  (await test.ask('query ($id: ID!) { animal(id: $id) { registerNumber } }', { id }, who.token)).errors === undefined;

describe('a club', () => {
  it('is founded by an owner, who is its registrar; a short name is had once', async () => {
    const founded = await run('foundClub', { keeperId: founder.keeperId, slug, name: 'Pond' }, founder, 'clubId');
    clubId = founded.data?.foundClub?.clubId ?? '';
    expect(await world.db.office.findMany({ where: { clubId } })).toMatchObject([
      { accountId: founder.accountId, region: null, taxonId: null },
    ]);
    expect(wrong(await run('foundClub', { keeperId: joiner.keeperId, slug, name: 'Pond' }, joiner, 'clubId'))).toBe(
      'CLUB_NAME_TAKEN',
    );
    expect(
      wrong(await run('foundClub', { keeperId: founder.keeperId, slug: 'pool', name: 'Pool' }, joiner, 'clubId')),
    ).toBe('NOT_FOUND');
  });

  it('admits or declines who asks; only registrars read and answer; the keeper gets a notice with the reason', async () => {
    const made = (await apply(joiner)).data?.applyToClub?.application;
    expect(made).toMatchObject({ keeperId: joiner.keeperId, keeper: 'Joiner', message: 'May I?' });
    const first = made?.id;
    expect(wrong(await apply(joiner))).toBe('APPLICATION_OPEN');
    expect(await world.db.notice.findMany({ where: { keeperId: founder.keeperId } })).toMatchObject([
      { kind: 'club_application_made', body: { clubId, applicationId: first } },
    ]);
    const list = 'query ($id: ID!) { clubApplications(clubId: $id) { edges { node { keeper message } } } }';
    expect(await test.get(list, { id: clubId }, founder.token)).toEqual({
      clubApplications: { edges: [{ node: { keeper: 'Joiner', message: 'May I?' } }] },
    });
    expect(wrong(await test.ask(list, { id: clubId }, stranger.token))).toBe('NOT_FOUND');
    const denied = await answer(first, true, stranger);
    expect(denied.errors?.[0]?.message).toBe((await answer(uuid(), true, stranger)).errors?.[0]?.message);
    expect(wrong(await answer(first, true, joiner))).toBe('FORBIDDEN');
    expect((await answer(first, false, founder)).data?.answerApplication?.application).toEqual(made);
    expect(wrong(await answer(first, true, founder))).toBe('APPLICATION_OVER');
    const second = (await apply(joiner)).data?.applyToClub?.application?.id;
    const both = await Promise.all([answer(second, true, founder), answer(second, false, founder)]);
    expect(both.map(wrong).filter((rule) => rule !== undefined)).toEqual(['APPLICATION_OVER']);
    const notices = await world.db.notice.findMany({ where: { keeperId: joiner.keeperId }, orderBy: { id: 'asc' } });
    expect(notices.map(({ body }) => body)).toMatchObject([{ admitted: false, reason: 'So it is' }, {}]);
    if ((await world.db.clubMember.count({ where: { clubId, keeperId: joiner.keeperId } })) === 0)
      await answer((await apply(joiner)).data?.applyToClub?.application?.id, true, founder);
    expect(wrong(await apply(joiner))).toBe('IN_CLUB_ALREADY');
  });

  it('shares lineage no longer once a keeper has left; custody, parents and numbers stay', async () => {
    const taxonId = await world.taxon();
    const id = await world.animal(joiner, taxonId);
    expect(await reads(founder, id)).toBe(true);
    const state = () =>
      Promise.all([world.db.animal.findMany(), world.db.custody.findMany(), world.db.parentageClaim.findMany()]);
    const before = await state();
    expect(wrong(await leave(joiner, stranger))).toBe('NOT_FOUND');
    // A member does not learn in this way who else is one.
    for (const other of [founder, stranger]) expect(wrong(await leave(other, joiner))).toBe('FORBIDDEN');
    expect((await leave(joiner)).errors).toBeUndefined();
    expect(await reads(founder, id)).toBe(false);
    expect(await reads(joiner, id)).toBe(true);
    expect(await state()).toEqual(before);
    expect(wrong(await leave(joiner))).toBe('NOT_FOUND');
    await answer((await apply(joiner)).data?.applyToClub?.application?.id, true, founder);
    expect(await reads(founder, id)).toBe(true);
  });

  it('does not lose its last registrar; of two who go at once one stays; a registrar ends a membership', async () => {
    expect(wrong(await leave(founder))).toBe('LAST_REGISTRAR');
    await world.db.office.create({
      data: { id: uuid(), clubId, accountId: joiner.accountId, validFrom: new Date('2026-01-01') },
    });
    const answers = await Promise.all([leave(founder), leave(joiner)]);
    expect(answers.map(wrong).filter((rule) => rule !== undefined)).toEqual(['LAST_REGISTRAR']);
    const stays = wrong(answers[0]) === undefined ? joiner : founder;
    await answer((await apply(stranger)).data?.applyToClub?.application?.id, true, stays);
    expect((await leave(stranger, stays)).errors).toBeUndefined();
    const notices = await world.db.notice.findMany({ where: { keeperId: stranger.keeperId } });
    expect(notices.map(({ kind }) => kind)).toEqual(expect.arrayContaining(['club_membership_ended']));
  });
});

import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { CheckPhotosDueHandler, checkPhotosDue, requestPhotosCheck } from '../../libs/animal/index.js';
import { decide } from '../../libs/kernel/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { type Database, UnitOfWork } from '../../libs/platform/prisma/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

describe('the reminder of photo documentations', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let taxon: string;
  let keeper: TestKeeper;
  let animalId: string;
  let markId: string;
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    taxon = await world.taxon();
  });
  beforeEach(async () => {
    test.setDay('2026-06-20');
    keeper = await world.keeper('Picture House');
    animalId = await world.animal(keeper, taxon, { since: '2026-01-01' });
    const mark = { kind: 'photo_documentation', fixedView: 'plastron', withScale: true, intervalDays: 30 };
    markId = (await mutate<{ mark: { id: string } }>('recordMark', { animalId, ...mark }, 'mark { id }')).mark.id;
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  async function mutate<T>(name: string, input: object, fields = '__typename'): Promise<T> {
    const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
    const query = `mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`;
    return (await test.get<Record<string, T>>(query, { input }, keeper.token))[name] as T;
  }
  const check = async (on: string): Promise<void> => {
    const handler = new CheckPhotosDueHandler(new NoticeStore({ client: world.db } as Database));
    await new UnitOfWork(world.db, new Clock()).writeAsServer(null, async (tx) => {
      await handler.handle(tx, { day: on, after: null });
      return decide(null);
    });
  };
  const told = async (who = keeper) => {
    const rows = await world.db.notice.findMany({
      where: { keeperId: who.keeperId, kind: 'photos_due' },
      orderBy: { dueOn: 'asc' },
    });
    return rows.map(({ dueOn, body }) => ({ dueOn: dueOn?.toISOString().slice(0, 10), body }));
  };

  it('comes once when the recorded interval is over, not before, and again after the next session', async () => {
    await check('2026-06-20');
    expect(await told()).toEqual([]); // no first session, nothing is due
    await mutate('recordPhotoSession', { markId, takenOn: '2026-05-01' });
    await mutate('recordPhotoSession', { markId, takenOn: '2026-05-10' });
    await check('2026-06-08');
    expect(await told()).toEqual([]);
    await check('2026-06-09');
    const body = { animalId, markId, fixedView: 'plastron', lastTakenOn: '2026-05-10', intervalDays: 30 };
    expect(await told()).toMatchObject([{ dueOn: '2026-06-09', body }]);
    const entries = await world.db.ledgerEntry.count({ where: { subjects: { has: animalId } } });
    await check('2026-06-09');
    await check('2026-06-15');
    expect(await told()).toHaveLength(1);
    expect(await world.db.ledgerEntry.count({ where: { subjects: { has: animalId } } })).toBe(entries);
    await mutate('recordPhotoSession', { markId, takenOn: '2026-06-15' });
    await check('2026-07-14');
    expect(await told()).toHaveLength(1);
    await check('2026-07-15');
    expect((await told()).map(({ dueOn }) => dueOn)).toEqual(['2026-06-09', '2026-07-15']);
  });

  it.each([
    ['a mark that has ended', () => mutate('endMark', { markId, cause: 'replaced' })],
    ['a dead animal', () => mutate('recordDeath', { animalId })],
    ['an animal that is missing', () => mutate('recordFate', { animalId, fate: 'missing' })],
  ])('does not come for %s', async (_, happen) => {
    await mutate('recordPhotoSession', { markId, takenOn: '2026-05-01' });
    await happen();
    await check('2026-06-20');
    expect(await told()).toEqual([]);
  });

  it('is asked for once a day', async () => {
    for (let i = 0; i < 2; i++) await requestPhotosCheck(world.db, new Date('2026-06-20T02:37:00Z'));
    expect(await world.db.outboxMessage.count({ where: { job: checkPhotosDue.name } })).toBe(1);
  });
});

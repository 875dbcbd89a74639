import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import sharp from 'sharp';
import { TellMarkConflictHandler } from '../../libs/animal/index.js';
import { decide } from '../../libs/kernel/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { type Database, UnitOfWork } from '../../libs/platform/prisma/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let taxon: string;
let alma: TestKeeper;
let bela: TestKeeper;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  taxon = await world.taxon();
  [alma, bela] = [await world.keeper('Alma'), await world.keeper('Bela')];
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

/** A chip number no other test uses. */
let chips = 0;
const chip = (code = '985'): string => `${code}${String(141_000_000_000 + ++chips)}`;

const MARK = `mark { id kind value edtf until { edtf } endCause photos { standing confirmedBy lastTakenOn nextDueOn overdue } } warnings { code }`;

type MarkAnswer = {
  mark: null | {
    id: string;
    kind: string;
    value: string;
    edtf: string | null;
    until: { edtf: string } | null;
    endCause: string | null;
    photos: null | { standing: string; confirmedBy: number; nextDueOn: string | null; overdue: boolean };
  };
  warnings: { code: string }[];
};

async function mutate<T = MarkAnswer>(who: TestKeeper, name: string, input: object, fields = MARK): Promise<T> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const answer = await test.get<Record<string, T>>(
    `mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`,
    { input },
    who.token,
  );
  return answer[name] as T;
}

async function refusal(who: TestKeeper, name: string, input: object) {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const { errors } = await test.ask(
    `mutation ($input: ${type}!) { ${name}(input: $input) { __typename } }`,
    { input },
    who.token,
  );
  const [error] = errors ?? [];
  return error === undefined ? null : { ...error.extensions, message: error.message };
}

const idOf = (answer: MarkAnswer): string => answer.mark?.id ?? '';

async function conflictsOf(who: TestKeeper, id: string) {
  const { animal } = await test.get<{ animal: { markConflicts: { value: string; sharedCode: boolean }[] | null } }>(
    `query ($id: ID!) { animal(id: $id) { markConflicts { value sharedCode } } }`,
    { id },
    who.token,
  );
  return animal.markConflicts;
}

/** Does what the worker would: hands every conflict message to its handler, as often as it was sent. */
async function runConflictJobs(): Promise<void> {
  const handler = new TellMarkConflictHandler(new NoticeStore({ client: world.db } as Database));
  const messages = await world.db.outboxMessage.findMany({
    where: { job: handler.job.name, dispatchedAt: null },
    orderBy: { createdAt: 'asc' },
  });
  const uow = new UnitOfWork(world.db, new Clock());
  for (const message of messages) {
    await uow.writeAsServer(null, async (tx) => {
      await handler.handle(tx, handler.job.payload.parse(message.payload));
      await tx.db.outboxMessage.update({ where: { id: message.id }, data: { dispatchedAt: tx.now } });
      return decide(null);
    });
  }
}

const noticesOf = async (keeper: TestKeeper, kind: string) =>
  (await world.db.notice.findMany({ where: { keeperId: keeper.keeperId, kind } })).map(({ body }) =>
    JSON.stringify(body),
  );

describe('marks over time', () => {
  it('takes a transponder as spaced as it is typed, and ends it with its cause', async () => {
    const animalId = await world.animal(alma, taxon);
    const digits = chip();
    const typed = `${digits.slice(0, 3)} ${digits.slice(3, 9)}.${digits.slice(9)}`;
    const made = await mutate(alma, 'recordMark', { animalId, kind: 'transponder', value: typed, when: '2026-05~' });
    expect(made).toMatchObject({
      mark: { kind: 'transponder', value: digits, edtf: '2026-05~', until: null },
      warnings: [],
    });
    const ended = await mutate(alma, 'endMark', {
      markId: idOf(made),
      until: '2026-09',
      cause: 'failed',
      note: 'silent',
    });
    expect(ended.mark).toMatchObject({ id: idOf(made), until: { edtf: '2026-09' }, endCause: 'failed' });
    expect(await refusal(alma, 'endMark', { markId: idOf(made), cause: 'lost' })).toMatchObject({ rule: 'MARK_ENDED' });
  });

  it('takes its days as a keeper says them: found on a day, or so long ago', async () => {
    const animalId = await world.animal(alma, taxon);
    const when = { aboutDaysOld: 10, plusMinusDays: 2, on: '2026-05-20' };
    const made = await mutate(alma, 'recordMark', { animalId, kind: 'notch', value: 'left 2', when });
    expect(made.mark).toMatchObject({ edtf: '2026-05-08/2026-05-12' });
    const until = { foundOn: '2026-06-01', atMostDaysBefore: 5 };
    const ended = await mutate(alma, 'endMark', { markId: idOf(made), until, cause: 'lost' });
    expect(ended.mark).toMatchObject({ until: { edtf: '2026-05-27/2026-06-01' } });
    const fixed = await mutate(alma, 'correctMark', {
      markId: idOf(made),
      reason: 'counted again',
      when: { foundOn: '2026-05-11', atMostDaysBefore: 1 },
      until: { foundOn: '2026-06-02', atMostDaysBefore: 0 },
    });
    expect(fixed.mark).toMatchObject({ edtf: '2026-05-10/2026-05-11', until: { edtf: '2026-06-02' } });
  });

  it('flags test transponders and shared codes, and refuses what is no number', async () => {
    const animalId = await world.animal(alma, taxon);
    const of = (value: string) => ({ animalId, kind: 'transponder', value });
    expect((await mutate(alma, 'recordMark', of('999000000000001'))).warnings).toEqual([{ code: 'TEST_TRANSPONDER' }]);
    expect((await mutate(alma, 'recordMark', of(chip('900')))).warnings).toEqual([
      { code: 'SHARED_MANUFACTURER_CODE' },
    ]);
    expect(await refusal(alma, 'recordMark', of('98514100012345'))).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'input.value', message: expect.stringContaining('15 digits') }],
    });
  });

  it('corrects with a reason, keeps every version, and clears an end that was wrong', async () => {
    const animalId = await world.animal(alma, taxon);
    const made = await mutate(alma, 'recordMark', { animalId, kind: 'ring', value: 'AB 12', size: '8 mm' });
    const markId = idOf(made);
    await mutate(alma, 'correctMark', { markId, value: 'AB 21', reason: 'Read upside down.' });
    await mutate(alma, 'endMark', { markId, until: '2026-05-01', cause: 'lost' });
    const back = await mutate(alma, 'correctMark', { markId, until: null, reason: 'It was under the wing.' });
    expect(back.mark).toMatchObject({ id: markId, value: 'AB 21', until: null, endCause: null });
    type Version = { node: { mark: { value: string; endCause: string | null }; reason: string | null } };
    const history = await test.get<{ animal: { markHistory: { edges: Version[] } } }>(
      `query ($id: ID!) { animal(id: $id) { markHistory(first: 10) { edges { node { mark { value endCause } reason supersededAt } } } } }`,
      { id: animalId },
      alma.token,
    );
    expect(
      history.animal.markHistory.edges.map(({ node }) => [node.mark.value, node.mark.endCause, node.reason]),
    ).toEqual([
      ['AB 12', null, 'Read upside down.'],
      ['AB 21', null, 'The mark ended.'],
      ['AB 21', 'lost', 'It was under the wing.'],
      ['AB 21', null, null],
    ]);
    const gone = await mutate(alma, 'correctMark', { markId, takeBack: true, reason: 'Another bird.' });
    expect(gone.mark).toBeNull();
    expect(await refusal(alma, 'endMark', { markId, cause: 'lost' })).toMatchObject({ code: 'NOT_FOUND' });
  });

  it('refuses days that cannot be, and marks on a lot', async () => {
    const animalId = await world.animal(alma, taxon, { birth: { edtf: '2026-03', manner: 'hatched' } });
    const tag = { animalId, kind: 'tag', value: '7' };
    expect(await refusal(alma, 'recordMark', { ...tag, when: '2999-01-01' })).toMatchObject({ rule: 'DAY_IN_FUTURE' });
    expect(await refusal(alma, 'recordMark', { ...tag, when: '2026-02' })).toMatchObject({ rule: 'FACT_BEFORE_BIRTH' });
    const made = await mutate(alma, 'recordMark', { ...tag, when: '2026-06-01' });
    const early = { markId: idOf(made), until: '2026-05-01', cause: 'lost' };
    expect(await refusal(alma, 'endMark', early)).toMatchObject({ rule: 'MARK_ENDS_BEFORE_SET' });
    const lot = await world.lot(alma, taxon, 5);
    expect(await refusal(alma, 'recordMark', { ...tag, animalId: lot })).toMatchObject({ rule: 'NOT_AN_INDIVIDUAL' });
  });

  it('is nobody else’s to write, and to a stranger a mark that exists reads like one that does not', async () => {
    const animalId = await world.animal(alma, taxon);
    const made = await mutate(alma, 'recordMark', { animalId, kind: 'tag', value: '8' });
    const stranger = await refusal(bela, 'endMark', { markId: idOf(made), cause: 'lost' });
    const absent = await refusal(bela, 'endMark', { markId: animalId, cause: 'lost' });
    expect([stranger?.code, stranger?.message]).toEqual(['NOT_FOUND', absent?.message]);
    await world.club(alma, bela);
    expect(await refusal(bela, 'endMark', { markId: idOf(made), cause: 'lost' })).toMatchObject({ code: 'NOT_FOUND' });
    expect(await refusal(bela, 'recordMark', { animalId, kind: 'tag', value: '9' })).toMatchObject({
      code: 'FORBIDDEN',
    });
  });

  it('writes a mark once under one key', async () => {
    const animalId = await world.animal(alma, taxon);
    const send = () =>
      test.get<{ recordMark: { mark: { id: string } } }>(
        `mutation ($input: RecordMarkInput!) { recordMark(input: $input) { mark { id } } }`,
        { input: { animalId, kind: 'notch', value: 'left 3' } },
        alma.token,
        { 'idempotency-key': `mark-${animalId}` },
      );
    const [first, second] = [await send(), await send()];
    expect(second).toEqual(first);
    expect(await world.db.animalMark.count({ where: { animalId } })).toBe(1);
  });
});

describe('photo documentation as a mark', () => {
  it('asks for view, scale and interval', async () => {
    const animalId = await world.animal(alma, taxon);
    const refused = await refusal(alma, 'recordMark', { animalId, kind: 'photo_documentation' });
    expect(refused?.fields.map(({ path }) => path)).toEqual([
      'input.fixedView',
      'input.withScale',
      'input.intervalDays',
    ]);
  });

  it('holds the pictures the keeper sent of the animal, and no other file', async () => {
    const [animalId, other] = [await world.animal(alma, taxon), await world.animal(alma, taxon)];
    const details = { fixedView: 'plastron from below', withScale: true, intervalDays: 180 };
    const markId = idOf(await mutate(alma, 'recordMark', { animalId, kind: 'photo_documentation', ...details }));
    const picture = await sharp({ create: { width: 8, height: 8, channels: 3, background: '#264' } })
      .png()
      .toBuffer();
    const send = async (of: string, bytes: Buffer, type: string) => {
      const sent = test.http().put(`/animals/${of}/files`).set('authorization', `Bearer ${alma.token}`);
      return ((await sent.set('content-type', type).send(bytes)).body as { id: string }).id;
    };
    const own = await send(animalId, picture, 'image/png');
    const paper = await send(animalId, Buffer.from('%PDF-1.4\n%%EOF\n'), 'application/pdf');
    const elsewhere = await send(other, picture, 'image/png');
    const refused = await refusal(alma, 'recordPhotoSession', { markId, fileIds: [own, paper, elsewhere] });
    expect(refused?.fields.map(({ path }) => path)).toEqual(['input.fileIds.1', 'input.fileIds.2']);
    const { mark } = await mutate<{ mark: { photos: { sessions: { edges: { node: { fileIds: string[] } }[] } } } }>(
      alma,
      'recordPhotoSession',
      { markId, fileIds: [own] },
      'mark { photos { sessions { edges { node { fileIds } } } } }',
    );
    expect(mark.photos.sessions.edges.map(({ node }) => node.fileIds)).toEqual([[own]]);
  });

  it('is confirmed by two different people, and says when the next pictures are due', async () => {
    test.setDay('2026-11-20');
    const helper = await world.keeper('A helper');
    await world.db.keeperMember.create({
      data: { keeperId: alma.keeperId, accountId: helper.accountId, role: 'helper', since: new Date('2026-01-01') },
    });
    const animalId = await world.animal(alma, taxon, { since: '2025-01-01' });
    const details = { fixedView: 'plastron from below', withScale: true, intervalDays: 180 };
    const made = await mutate(alma, 'recordMark', { animalId, kind: 'photo_documentation', ...details });
    expect(made.mark).toMatchObject({
      value: 'plastron from below',
      photos: { standing: 'no_pictures', nextDueOn: null },
    });
    const markId = idOf(made);
    const session = async (takenOn: string) =>
      mutate<MarkAnswer & { sessionId: string }>(alma, 'recordPhotoSession', { markId, takenOn }, `sessionId ${MARK}`);
    const first = await session('2026-01-01');
    expect(first.mark?.photos).toMatchObject({ standing: 'first_pictures', nextDueOn: '2026-06-30', overdue: true });
    const second = await session('2026-07-01');
    expect(second.mark?.photos).toMatchObject({ standing: 'unconfirmed', nextDueOn: '2026-12-28', overdue: false });
    expect(await refusal(alma, 'recordPhotoSession', { markId, takenOn: '2026-07-01' })).toMatchObject({
      rule: 'PHOTO_DAY_TAKEN',
    });
    const pair = { sessionId: second.sessionId, earlierSessionId: first.sessionId, verdict: 'same' };
    const swapped = { sessionId: first.sessionId, earlierSessionId: second.sessionId, verdict: 'same' };
    expect(await refusal(alma, 'confirmPhotoComparison', swapped)).toMatchObject({ rule: 'PHOTO_ORDER' });
    await mutate(alma, 'confirmPhotoComparison', pair);
    const twice = await mutate(alma, 'confirmPhotoComparison', pair);
    expect(twice.mark?.photos).toMatchObject({ standing: 'unconfirmed', confirmedBy: 1 });
    const other = await mutate(helper, 'confirmPhotoComparison', pair);
    expect(other.mark?.photos).toMatchObject({ standing: 'confirmed', confirmedBy: 2 });
    const doubt = await mutate(helper, 'confirmPhotoComparison', { ...pair, verdict: 'different' });
    expect(doubt.mark?.photos).toMatchObject({ standing: 'contradicted', confirmedBy: 1 });
    const undone = await mutate(alma, 'takeBackPhotoSession', {
      sessionId: second.sessionId,
      reason: 'Another animal.',
    });
    expect(undone.mark?.photos).toMatchObject({ standing: 'first_pictures', confirmedBy: 0 });
    expect(await refusal(bela, 'confirmPhotoComparison', pair)).toMatchObject({ code: 'NOT_FOUND' });
    test.setDay(null);
  });
});

describe('two living animals with one chip', () => {
  it('is seen at registration and at recording, told to both, and names neither', async () => {
    const [one, two] = [await world.keeper('One Keeper'), await world.keeper('Two Keeper')];
    const number = chip();
    const mine = await world.animal(one, taxon, { marks: [{ kind: 'transponder', value: number }] });
    const theirs = await world.animal(two, taxon);
    const recorded = await mutate(two, 'recordMark', {
      animalId: theirs,
      kind: 'other_chip',
      value: `${number.slice(0, 3)}-${number.slice(3)}`,
    });
    expect(recorded.warnings).toEqual([{ code: 'MARK_CONFLICT' }]);
    expect(await conflictsOf(one, mine)).toEqual([{ value: number, sharedCode: false }]);
    expect(await conflictsOf(two, theirs)).toEqual([{ value: number, sharedCode: false }]);
    await runConflictJobs();
    await runConflictJobs();
    const [toOne, toTwo] = [await noticesOf(one, 'mark_conflict'), await noticesOf(two, 'mark_conflict')];
    expect([toOne.length, toTwo.length]).toEqual([1, 1]);
    for (const [text, own, other, keeper] of [
      [toOne[0], mine, theirs, two],
      [toTwo[0], theirs, mine, one],
    ] as const) {
      expect(text).toContain(own);
      for (const secret of [other, keeper.keeperId, 'Keeper']) expect(text).not.toContain(secret);
    }
    // Neither is kept from recording anything.
    await mutate(one, 'recordMark', { animalId: mine, kind: 'notch', value: 'left 2' });

    await mutate(two, 'correctMark', { markId: idOf(recorded), value: chip(), reason: 'Misread.' });
    expect(await conflictsOf(one, mine)).toEqual([]);
    await runConflictJobs();
    expect((await noticesOf(one, 'mark_conflict_resolved')).length).toBe(1);
    const { resolvedBecause } = await world.db.markConflict.findFirstOrThrow({ where: { value: number } });
    expect(resolvedBecause).toBe('mark_corrected');
  });

  it('warns at registration, more weakly under the shared code 900, and not of test transponders', async () => {
    const register = (marks: object[]) =>
      mutate<{ warnings: { code: string }[] }>(
        alma,
        'registerAnimal',
        { keeperId: alma.keeperId, taxonId: taxon, marks },
        'warnings { code }',
      );
    const [own, shared] = [chip(), chip('900')];
    const marks = [own, shared, '999000000000001'].map((value) => ({ kind: 'transponder', value }));
    await register(marks);
    expect((await register(marks)).warnings.map(({ code }) => code).sort()).toEqual([
      'MARK_CONFLICT',
      'MARK_CONFLICT_SHARED_CODE',
      'SHARED_MANUFACTURER_CODE',
      'TEST_TRANSPONDER',
    ]);
  });

  it('is over when one dies, ends the mark, or is merged, and back when the chip is', async () => {
    const number = chip();
    const marks = [{ kind: 'transponder', value: number }];
    const [first, second, third] = [
      await world.animal(alma, taxon, { marks }),
      await world.animal(alma, taxon, { marks }),
      await world.animal(alma, taxon, { marks }),
    ];
    expect((await conflictsOf(alma, first))?.length).toBe(2);
    await mutate(alma, 'recordDeath', { animalId: third }, 'animal { fate }');
    expect((await conflictsOf(alma, first))?.length).toBe(1);
    await mutate(alma, 'mergeRecords', { keepId: first, mergeId: second, reason: 'One animal.' }, '__typename');
    expect(await conflictsOf(alma, first)).toEqual([]);
    await mutate(alma, 'undoMerge', { mergedId: second, reason: 'Two after all.' }, '__typename');
    expect((await conflictsOf(alma, first))?.length).toBe(1);
    const { id: markId } = (
      await test.get<{ animal: { marks: { id: string }[] } }>(
        `query ($id: ID!) { animal(id: $id) { marks { id } } }`,
        { id: second },
        alma.token,
      )
    ).animal.marks[0] as { id: string };
    await mutate(alma, 'endMark', { markId, cause: 'removed' });
    expect(await conflictsOf(alma, first)).toEqual([]);
    const causes = await world.db.markConflict.findMany({ where: { value: number }, orderBy: { resolvedAt: 'asc' } });
    expect(new Set(causes.map(({ resolvedBecause }) => resolvedBecause))).toEqual(
      new Set(['died', 'merged', 'mark_ended']),
    );
  });
});

describe('sex and what depended on it', () => {
  it('is changed by a superseding fact, and what contradicts it is named, not refused', async () => {
    const animalId = await world.animal(alma, taxon, { sex: 'female' });
    const young = await world.animal(alma, taxon, { damId: animalId });
    const hidden = await world.animal(await world.keeper('A stranger'), taxon);
    const claim = await world.db.parentageClaim.findFirstOrThrow({ where: { childId: young } });
    await world.db.parentageClaim.create({
      data: {
        ...claim,
        id: crypto.randomUUID(),
        childId: hidden,
        candidates: { create: { parentId: animalId, probability: 1 } },
      },
    });
    const { mating } = await mutate<{ mating: { id: string } }>(
      alma,
      'recordMating',
      { damId: animalId, basis: 'observed' },
      'mating { id }',
    );
    type Answer = { recheck: { kind: string; id: string }[]; warnings: { code: string }[] };
    const sex = { sex: 'male', method: 'endoscopy', confidence: 'certain' };
    const answer = await mutate<Answer>(
      alma,
      'recordFact',
      { animalId, sex, reason: 'Seen by the veterinarian.' },
      'recheck { kind id } warnings { code }',
    );
    expect(answer.recheck).toEqual([
      { kind: 'offspring', id: young },
      { kind: 'mating', id: mating.id },
    ]);
    expect(answer.warnings.map(({ code }) => code)).toEqual(['SEX_CONTRADICTS_OFFSPRING', 'SEX_CONTRADICTS_MATING']);
    const facts = await world.db.animalFact.findMany({
      where: { animalId, kind: 'sex' },
      orderBy: { recordedAt: 'asc' },
    });
    expect(facts.map(({ body, reason }) => [body, reason])).toEqual([
      [{ sex: 'female' }, 'Seen by the veterinarian.'],
      [sex, null],
    ]);
    expect(
      await world.db.outboxMessage.count({
        where: { job: 'provenance.recheck-origin', payload: { path: ['animalId'], equals: animalId } },
      }),
    ).toBeGreaterThanOrEqual(2);
    const back = await mutate<Answer>(
      alma,
      'recordFact',
      { animalId, sex: { sex: 'female' } },
      'recheck { id } warnings { code }',
    );
    expect(back).toEqual({ recheck: [], warnings: [] });
  });
});

describe('traits and hybrids', () => {
  it('one statement a gene is in force; another gene stands beside it', async () => {
    const animalId = await world.animal(alma, taxon);
    const say = (trait: object) => mutate(alma, 'recordFact', { animalId, trait }, 'animal { id }');
    await say({ gene: 'albino', state: 'possible', basis: 'by_parents', certainty: 'likely' });
    await say({ gene: 'axanthic', state: 'absent', basis: 'tested' });
    await say({ gene: 'albino', state: 'carrier', alleles: ['+', 'a'], basis: 'tested' });
    type Traits = { animal: { traits: { edges: { node: object }[] } } };
    const { animal } = await test.get<Traits>(
      `query ($id: ID!) { animal(id: $id) { traits(first: 5) { edges { node { gene state alleles basis certainty } } } } }`,
      { id: animalId },
      alma.token,
    );
    expect(animal.traits.edges.map(({ node }) => node)).toEqual([
      { gene: 'albino', state: 'carrier', alleles: ['+', 'a'], basis: 'tested', certainty: null },
      { gene: 'axanthic', state: 'absent', alleles: null, basis: 'tested', certainty: null },
    ]);
    const three = { gene: 'x', state: 'carrier', alleles: ['a', 'b', 'c'], basis: 'tested' };
    expect(await refusal(alma, 'recordFact', { animalId, trait: three })).toMatchObject({ code: 'INVALID_INPUT' });
  });

  it('a hybrid is shown as one wherever lineage is, until the statement is taken back', async () => {
    const animalId = await world.animal(alma, taxon);
    const say = (of: string[]) =>
      mutate<{ animal: object }>(alma, 'recordFact', { animalId, hybrid: { of } }, 'animal { isHybrid hybridOf }');
    expect(await say(['Testudo hermanni', 'Testudo graeca'])).toEqual({
      animal: { isHybrid: true, hybridOf: ['Testudo hermanni', 'Testudo graeca'] },
    });
    const { animal } = await test.get<{ animal: object }>(
      `query ($id: ID!) { animal(id: $id) { isHybrid hybridOf } }`,
      { id: animalId },
      bela.token,
    );
    expect(animal).toEqual({ isHybrid: true, hybridOf: null });
    expect(await say([])).toEqual({ animal: { isHybrid: false, hybridOf: null } });
  });
});

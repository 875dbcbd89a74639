import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { accessLevel, type AccessFact, type AccessLevel, fieldsShown } from '../../libs/access/index.js';
import { BreedingWorld } from '../support/breeding-world.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/**
 * What hangs on an animal, and was recorded before and after a past holder gave it away: marks, clutches, files, parentage,
 * threads. For every role a keeper can have, the answers of the API are those the policy of `access` gives; all else is
 * NOT_FOUND, in the words of what does not exist.
 */
const EARLY = '2026-06-10';
const GIVEN = new Date('2026-06-15T12:00:00Z');
const LATE = '2026-06-20';

const ROLES = {
  holder: [],
  helper: [],
  owner: [{ relation: 'owner', closed: false, readsUntil: null }],
  receiver: [{ relation: 'receiver', closed: false, readsUntil: null }],
  declined: [{ relation: 'receiver', closed: true, readsUntil: null }],
  past: [{ relation: 'holder', closed: true, readsUntil: GIVEN }],
  pastReceiver: [
    { relation: 'owner', closed: true, readsUntil: GIVEN },
    { relation: 'receiver', closed: false, readsUntil: null },
  ],
  clubMate: [],
  stranger: [],
} as const satisfies Record<string, readonly AccessFact[]>;
type Role = keyof typeof ROLES;
const NAMES = Object.keys(ROLES) as Role[];

let server: TestApp;
let world: RegistryWorld;
const as = {} as Record<Role, TestKeeper>;
let dam: string;
let clutches: { early: string; late: string };
const files = { early: uuid(), paper: uuid(), withdrawn: uuid(), late: uuid() };
const threads = { asked: uuid(), shown: uuid() };

const levelOf = (role: Role): AccessLevel =>
  role === 'holder' || role === 'helper'
    ? 'full'
    : accessLevel({ own: ROLES[role], sharedInClub: role === 'clubMate' }).level;

/** Which of what came before and after the hand-over a level reads; null = not the record at all. */
function readable<T>(role: Role, { early, late }: { early: T; late: T }): T[] | null {
  const level = levelOf(role);
  if (!fieldsShown(level).record) return null;
  return level === 'past' ? [early] : [early, late];
}

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
  const breeding = new BreedingWorld(server, world);
  for (const role of NAMES) as[role] = await world.keeper(`The ${role}`);
  await world.db.keeperMember.create({
    data: { keeperId: as.holder.keeperId, accountId: as.helper.accountId, role: 'helper', since: new Date() },
  });
  await world.club(as.holder, as.clubMate);
  server.setDay(EARLY);
  const taxonId = await breeding.taxon();
  const grown = { birth: { edtf: '2020', manner: 'hatched' } };
  const mother = await world.animal(as.holder, taxonId, { sex: 'female', ...grown });
  dam = await world.animal(as.holder, taxonId, { sex: 'female', ...grown });
  const mark = async (value: string) =>
    server.get(
      `mutation ($input: RecordMarkInput!) { recordMark(input: $input) { mark { id } } }`,
      { input: { animalId: dam, kind: 'tag', value } },
      as.holder.token,
    );
  const clutch = async (laid: string) =>
    (await breeding.do(as.holder, 'recordClutch', { damId: dam, laid, eggCount: 1 })).clutch.id;
  await server.get(
    `mutation ($input: RecordParentInput!) { recordParent(input: $input) { animal { id } } }`,
    {
      input: {
        animalId: dam,
        role: 'dam',
        basis: 'observed',
        parentId: mother,
        when: '2020-04-02',
        evidence: 'Seen',
      },
    },
    as.holder.token,
  );
  await mark('EARLY');
  const early = await clutch('2026-02-01');
  server.setDay(LATE);
  await mark('LATE');
  clutches = { early, late: await clutch('2026-05-01') };
  const taken = (id: string, on: string, more: object = {}) => ({
    id,
    animalId: dam,
    keeperId: as.holder.keeperId,
    fileName: 'kitchen-window.jpg',
    originalSha256: id.replaceAll('-', '').repeat(2),
    originalType: 'image/jpeg',
    originalSize: 1,
    sharedSha256: 'b'.repeat(64),
    sharedSize: 1,
    thumbSha256: 'c'.repeat(64),
    thumbSize: 1,
    width: 1,
    height: 1,
    uploadedAt: new Date(`${on}T12:00:00Z`),
    uploadedBy: as.holder.accountId,
    ...more,
  });
  const noCopies = {
    sharedSha256: null,
    sharedSize: null,
    thumbSha256: null,
    thumbSize: null,
    width: null,
    height: null,
  };
  await world.db.animalFile.createMany({
    data: [
      taken(files.early, EARLY),
      taken(files.paper, EARLY, { ...noCopies, originalType: 'application/pdf', fileName: 'paper.pdf' }),
      taken(files.withdrawn, EARLY, { withdrawnAt: GIVEN, withdrawnBy: as.holder.accountId, reason: 'Wrong animal' }),
      taken(files.late, LATE),
    ],
  });
  for (const [id, revealedAt] of [
    [threads.asked, null],
    [threads.shown, new Date()],
  ] as const)
    await world.db.askThread.create({
      data: {
        id,
        animalId: dam,
        askerKeeperId: as.clubMate.keeperId,
        holderKeeperId: as.holder.keeperId,
        openedAt: GIVEN,
        lastMessageAt: GIVEN,
        askerReadAt: GIVEN,
        revealedAt,
        ...(revealedAt === null ? { closedAt: new Date(), closedBy: 'asker' as const } : {}),
        messages: { create: [{ id: uuid(), side: 'asker', text: 'Is he yours?', sentAt: GIVEN }] },
      },
    });
  for (const role of NAMES)
    for (const { relation, closed, readsUntil } of ROLES[role])
      await world.db.animalAccess.create({
        data: {
          id: uuid(),
          animalId: dam,
          keeperId: as[role].keeperId,
          relation,
          validFrom: new Date('2026-01-01'),
          validTo: closed ? new Date('2026-06-15') : null,
          readsUntil,
        },
      });
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});

type Edges<T> = { edges: { node: T }[] };
type Shown = {
  marks: { value: string }[] | null;
  clutches: Edges<{ id: string }> | null;
  files: { id: string; fileName: string | null; originalAddress: string | null }[];
  parentage: { evidence: string | null; when: { edtf: string } | null }[];
};

async function read<T>(role: Role, query: string, variables: object): Promise<{ data: T | null; code: string | null }> {
  const { data, errors } = await server.ask<T>(query, variables, as[role].token);
  return { data, code: errors?.[0] === undefined ? null : `${errors[0].extensions.code} ${errors[0].message}` };
}
const nodes = <T, K extends keyof T>(list: Edges<T> | null, key: K) =>
  list === null ? null : list.edges.map(({ node }) => node[key]).toSorted();

describe.each(NAMES)('%s', (role) => {
  const level = levelOf(role);
  const own = role === 'holder' || role === 'helper';

  it('reads of the animal what its level shows', async () => {
    const query = `query ($id: ID!) { animal(id: $id) { marks { value } clutches { edges { node { id } } }
      files { id fileName originalAddress } parentage { evidence when { edtf } } } }`;
    const { data, code } = await read<{ animal: Shown }>(role, query, { id: dam });
    if (level === 'none') {
      expect(code).toBe((await read(role, query, { id: uuid() })).code);
      expect(code).toMatch(/^NOT_FOUND /);
      return;
    }
    const shown = data?.animal;
    const marks = readable(role, { early: 'EARLY', late: 'LATE' });
    expect(shown?.marks?.map(({ value }) => value).toSorted() ?? null).toEqual(marks);
    expect(nodes(shown?.clutches ?? null, 'id')).toEqual(readable(role, clutches)?.toSorted() ?? null);
    const pictures = readable(role, files) ?? [];
    expect(shown?.files.map(({ id }) => id).toSorted()).toEqual((own ? Object.values(files) : pictures).toSorted());
    expect(
      shown?.files.every(({ fileName, originalAddress }) => (fileName !== null && originalAddress !== null) === own),
    ).toBe(true);
    expect(shown?.parentage).toEqual([
      {
        evidence: level === 'full' || level === 'past' ? 'Seen' : null,
        when: fieldsShown(level).record ? { edtf: '2020-04-02' } : null,
      },
    ]);
  });

  it('reaches no clutch, file or thread by its id that it does not read', async () => {
    // Of today's clutches only those read one whose record of today is theirs.
    const query = 'query ($id: ID!) { clutch(id: $id) { id } }';
    for (const id of Object.values(clutches)) {
      const { code } = await read(role, query, { id });
      const absent = (await read(role, query, { id: uuid() })).code;
      expect(code).toBe(level === 'full' || level === 'offered' ? null : absent);
    }
    const pictures = readable(role, files) ?? [];
    for (const [name, id] of Object.entries(files))
      for (const part of ['', '/thumbnail', '/original']) {
        const { status } = await server
          .http()
          .get(`/animals/${dam}/files/${id}${part}`)
          .set('authorization', `Bearer ${as[role].token}`);
        const shown = part === '/original' ? own : own ? part === '' || name !== 'paper' : pictures.includes(id);
        // No bytes are kept behind these rows: what may be read is found, and then unavailable.
        expect([name, part, status]).toEqual([name, part, shown ? 503 : 404]);
      }
    for (const [name, id] of Object.entries(threads)) {
      const thread =
        'query ($id: ID!) { thread(id: $id) { other otherKeeperId messages { edges { node { mine } } } } }';
      const { data, code } = await read<{ thread: { other: string; otherKeeperId: string | null } }>(role, thread, {
        id,
      });
      if (!own && role !== 'clubMate') {
        expect(code).toBe((await read(role, thread, { id: uuid() })).code);
        continue;
      }
      const other = own ? as.clubMate : as.holder;
      expect([name, data?.thread.otherKeeperId]).toEqual([name, name === 'shown' ? other.keeperId : null]);
      expect(data?.thread.other.startsWith('The ')).toBe(name === 'shown');
    }
  });
});

it('reaches nothing without being signed in', async () => {
  const { errors } = await server.ask('query ($id: ID!) { thread(id: $id) { id } }', { id: threads.shown });
  expect(errors?.[0]?.extensions.code).toBe('UNAUTHENTICATED');
  expect((await server.http().get(`/animals/${dam}/files/${files.early}`)).status).toBe(401);
});

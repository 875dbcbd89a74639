import { readdirSync, statSync } from 'node:fs';
import { connect } from 'node:net';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { CONFIG, type Config } from '../../libs/platform/config/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type GraphqlError, startTestApp, type TestApp } from '../support/test-app.js';

const PDF = Buffer.from('%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n');
const PNG = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAQAAAC1HAwCAAAAC0lEQVR42mNkYAAAAAYAAjCB0C8AAAAASUVORK5CYII=',
  'base64',
);
const MIB = 1024 * 1024;
const TEXT = 'No document with this id is visible to you.';

const RECORD = `mutation ($input: RecordDocumentInput!) { recordDocument(input: $input) { document {
  id keeperId kind number jurisdiction validFrom validUntil warnings { code message } standing { state inDays daysAgo }
  covers { quantity wholeCollection animal { id } taxon { id } } files { id } } } }`;
const SUPERSEDE = `mutation ($input: SupersedeDocumentInput!) { supersedeDocument(input: $input) { document {
  id number validUntil reason supersededBy covers { animal { id } } files { id sha256 } } } }`;
const READ = `query ($id: ID!) { holdingDocument(id: $id) {
  id keeperId number supersededBy reason covers { animal { id } wholeCollection } files { id fileName path } } }`;

type Document = {
  id: string;
  keeperId: string | null;
  number: string;
  validUntil: string | null;
  supersededBy: string | null;
  reason: string | null;
  covers: {
    animal: { id: string } | null;
    wholeCollection?: boolean;
    taxon?: { id: string } | null;
    quantity?: number;
  }[];
  files: { id: string; sha256?: string; path?: string; fileName?: string }[];
  warnings: { code: string; message: string }[];
  standing: { state: string; inDays: number | null; daysAgo: number | null };
};

type DocumentPage = { edges: { node: Document }[]; pageInfo: { hasNextPage: boolean; endCursor: string } };

let test: TestApp;
let world: RegistryWorld;
let anna: TestKeeper;
let bruno: TestKeeper;
let taxonId: string;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  anna = await world.keeper('Anna');
  bruno = await world.keeper('Bruno');
  await world.club(anna, bruno);
  taxonId = await world.taxon();
  test.setDay('2026-06-10');
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

const input = (keeper: TestKeeper, more: object = {}) => ({
  keeperId: keeper.keeperId,
  kind: 'licence',
  number: 'L 17/2026',
  authority: 'Lower conservation authority',
  jurisdiction: 'DE-BY',
  covers: [{ wholeCollection: true }],
  ...more,
});

async function record(keeper: TestKeeper, more: object = {}): Promise<Document> {
  const answer = await test.get<{ recordDocument: { document: Document } }>(
    RECORD,
    { input: input(keeper, more) },
    keeper.token,
  );
  return answer.recordDocument.document;
}

async function refusal(keeper: TestKeeper, more: object) {
  const count = () => world.db.holdingDocument.count();
  const before = await count();
  const { errors } = await test.ask(RECORD, { input: input(keeper, more) }, keeper.token);
  expect(await count()).toBe(before);
  return errors?.[0]?.extensions;
}

async function read(keeper: TestKeeper, id: string): Promise<Document | string> {
  const { data, errors } = await test.ask<{ holdingDocument: Document }>(READ, { id }, keeper.token);
  return data?.holdingDocument ?? errors?.[0]?.message ?? 'no answer';
}

describe('recording', () => {
  it('keeps what the paper says, with its standing today', async () => {
    const animalId = await world.animal(anna, taxonId);
    const document = await record(anna, {
      jurisdiction: 'de',
      validFrom: '2025-07-01',
      validUntil: '2026-06-30',
      covers: [{ animalId }, { taxonId, quantity: 4 }],
    });
    expect(document).toMatchObject({
      keeperId: anna.keeperId,
      number: 'L 17/2026',
      jurisdiction: 'DE',
      standing: { state: 'lapsing', inDays: 20, daysAgo: null },
      warnings: [],
    });
    expect(document.covers.map(({ animal, taxon, quantity }) => animal?.id ?? [taxon?.id, quantity])).toEqual([
      animalId,
      [taxonId, 4],
    ]);
    const [entry, ...more] = await world.db.ledgerEntry.findMany({ where: { subjects: { has: document.id } } });
    expect(more).toEqual([]);
    expect(entry).toMatchObject({ action: 'document.recorded', subjects: [document.id, animalId] });
    expect(entry?.body).not.toContain('17/2026');
    expect(entry?.body).not.toContain('conservation');
  });

  it('warns of a validity longer than a permit may have, and records it', async () => {
    const document = await record(anna, {
      kind: 'permit',
      permitForm: 'export_permit',
      validFrom: '2026-03-31',
      validUntil: '2026-10-01',
    });
    expect(document.warnings.map(({ code }) => code)).toEqual(['VALIDITY_LONGER_THAN_MAXIMUM']);
    expect(document.warnings[0]?.message).toContain('The licensing authority decides.');
  });

  it('refuses what does not fit, and writes nothing', async () => {
    const stranger = await world.keeper('Stranger');
    const theirs = await world.animal(stranger, taxonId);
    const none = '00000000-0000-7000-8000-000000000000';
    expect(await refusal(anna, { validFrom: '2026-02-01', validUntil: '2026-01-31' })).toMatchObject({
      rule: 'VALIDITY_REVERSED',
    });
    expect(await refusal(anna, { covers: [{ animalId: theirs }] })).toMatchObject({ code: 'NOT_FOUND' });
    expect(await refusal(anna, { covers: [{ animalId: none }] })).toMatchObject({ code: 'NOT_FOUND' });
    expect(await refusal(anna, { covers: [{ taxonId: none }] })).toMatchObject({ code: 'NOT_FOUND' });
    expect(await refusal(anna, { keeperId: bruno.keeperId })).toMatchObject({ code: 'NOT_FOUND' });
    expect(await refusal(anna, { covers: [] })).toMatchObject({ code: 'INVALID_INPUT' });
    expect(await refusal(anna, { covers: [{ taxonId, wholeCollection: true }] })).toMatchObject({
      code: 'INVALID_INPUT',
    });
    expect(await refusal(anna, { covers: [{ wholeCollection: true, quantity: 2 }] })).toMatchObject({
      code: 'INVALID_INPUT',
    });
    expect(await refusal(anna, { covers: [{ taxonId, quantity: 0 }] })).toMatchObject({ code: 'INVALID_INPUT' });
    expect(await refusal(anna, { covers: [{ taxonId }, { taxonId }] })).toMatchObject({ rule: 'COVER_TWICE' });
    expect(await refusal(anna, { covers: [{ taxonId }, { wholeCollection: true }] })).toMatchObject({
      rule: 'COLLECTION_ALONE',
    });
    expect(await refusal(anna, { permitForm: 'import_permit' })).toMatchObject({ rule: 'PERMIT_FORM_MISPLACED' });
    expect(await refusal(anna, { number: '  ' })).toMatchObject({ fields: [{ path: 'input.number' }] });
    expect(await refusal(anna, { jurisdiction: 'XQ-1' })).toMatchObject({ fields: [{ path: 'input.jurisdiction' }] });
    const { errors } = await test.ask(RECORD, { input: input(anna, { validUntil: '2026-02-30' }) }, anna.token);
    expect(errors?.[0]?.extensions.code).toBe('INVALID_INPUT');
  });

  it('an animal that is seen but neither held nor owned is named in the refusal', async () => {
    const brunos = await world.animal(bruno, taxonId);
    expect(await refusal(anna, { covers: [{ animalId: brunos }] })).toMatchObject({
      rule: 'COVER_NOT_HELD',
      blockers: [{ kind: 'animal', id: brunos }],
    });
  });
});

describe('superseding', () => {
  const supersede = (keeper: TestKeeper, documentId: string, changes: object) =>
    test.ask<{ supersedeDocument: { document: Document } }>(
      SUPERSEDE,
      { input: { documentId, reason: 'prolonged', ...changes } },
      keeper.token,
    );

  it('replaces the record, keeps the earlier one readable, and takes the files along', async () => {
    const earlier = await record(anna, { validUntil: '2026-07-01' });
    await upload(anna, earlier.id, PDF).expect(201);
    const { data } = await supersede(anna, earlier.id, { validUntil: '2027-07-01' });
    const now = data?.supersedeDocument.document;
    expect(now).toMatchObject({
      number: 'L 17/2026',
      validUntil: '2027-07-01',
      reason: 'prolonged',
      supersededBy: null,
    });
    expect(now?.files).toHaveLength(1);
    expect(await read(anna, earlier.id)).toMatchObject({ supersededBy: now?.id });
    const again = await supersede(anna, earlier.id, { validUntil: null });
    expect(again.errors?.[0]?.extensions.rule).toBe('DOCUMENT_SUPERSEDED');
    await upload(anna, earlier.id, PNG).expect(409);
  });

  it('clears with null what may be cleared, and refuses the rest', async () => {
    const { id } = await record(anna, { validUntil: '2026-07-01' });
    const cleared = await supersede(anna, id, { number: null });
    expect(cleared.errors?.[0]?.extensions).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'input.number' }],
    });
    const { data } = await supersede(anna, id, { validUntil: null });
    expect(data?.supersedeDocument.document.validUntil).toBeNull();
  });

  it('is for its keeper alone', async () => {
    const { id } = await record(anna);
    const { errors } = await supersede(bruno, id, { validUntil: null });
    expect(errors?.[0]).toMatchObject({ message: TEXT, extensions: { code: 'NOT_FOUND' } });
  });
});

it('the list goes from the first end to none, page by page, without gap or repetition', async () => {
  const carla = await world.keeper('Carla');
  const ends = ['2027-01-01', null, '2026-07-01', '2027-01-01', null];
  for (const validUntil of ends) await record(carla, { validUntil });
  const seen: (string | null)[] = [];
  const ids = new Set<string>();
  let after: string | null = null;
  do {
    const { myDocuments }: { myDocuments: DocumentPage } = await test.get(
      `query ($k: ID!, $after: String) { myDocuments(keeperId: $k, first: 2, after: $after) {
        edges { node { id validUntil } } pageInfo { hasNextPage endCursor } } }`,
      { k: carla.keeperId, after },
      carla.token,
    );
    for (const { node } of myDocuments.edges) {
      seen.push(node.validUntil);
      ids.add(node.id);
    }
    after = myDocuments.pageInfo.hasNextPage ? myDocuments.pageInfo.endCursor : null;
  } while (after !== null);
  expect(seen).toEqual(['2026-07-01', '2027-01-01', '2027-01-01', null, null]);
  expect(ids.size).toBe(5);
  const foreign = await test.ask(
    `query ($k: ID!) { myDocuments(keeperId: $k) { edges { cursor } } }`,
    { k: carla.keeperId },
    anna.token,
  );
  expect(foreign.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
});

const upload = (
  keeper: TestKeeper | null,
  documentId: string,
  body: Buffer,
  type = 'application/octet-stream',
  name = 'scan.pdf',
) => {
  const sent = test.http().put(`/documents/${documentId}/files`).query({ name }).set('content-type', type);
  if (keeper !== null) void sent.set('authorization', `Bearer ${keeper.token}`);
  return sent.send(body);
};

/** The error of a REST answer; empty where there is none. */
const errorOf = (body: unknown): Partial<GraphqlError> => (body as { errors?: GraphqlError[] }).errors?.[0] ?? {};

/** What a REST answer tells: status, code and text, without the request's id. */
function told(answer: { status: number; body: unknown }): string {
  const { message, extensions } = errorOf(answer.body);
  expect(extensions).toMatchObject({ fields: [], blockers: [] });
  return `${answer.status} ${extensions?.code} ${message}`;
}

const blobs = (): string[] => {
  const folder = join(test.app.get<Config>(CONFIG, { strict: false }).dataDir, 'blobs');
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => entry.name);
};

describe('files', () => {
  let id: string;
  beforeAll(async () => {
    id = (await record(anna)).id;
  });

  it('comes back as it was sent, as a download', async () => {
    const sent = await upload(anna, id, PDF, 'application/pdf', 'Größe 1.pdf').expect(201);
    const file = sent.body as { id: string; sha256: string };
    expect(file).toMatchObject({
      documentId: id,
      fileName: 'Größe 1.pdf',
      mediaType: 'application/pdf',
      size: PDF.length,
    });
    const got = await test
      .http()
      .get(`/documents/${id}/files/${file.id}`)
      .set('authorization', `Bearer ${anna.token}`)
      .buffer(true)
      .expect(200);
    expect(Buffer.compare(got.body as Buffer, PDF)).toBe(0);
    expect(got.headers).toMatchObject({
      'content-type': 'application/pdf',
      'content-length': String(PDF.length),
      'x-content-type-options': 'nosniff',
      'cache-control': 'private, no-store',
    });
    expect(got.headers['content-disposition']).toMatch(
      /^attachment; filename="Gr__e 1\.pdf"; filename\*=UTF-8''Gr%C3%B6%C3%9Fe%201\.pdf$/,
    );
    const again = await upload(anna, id, PDF, 'application/octet-stream', 'other.pdf').expect(200);
    expect((again.body as { id: string }).id).toBe(file.id);
  });

  it.each([
    ['a PNG sent as bytes', PNG, 'application/octet-stream', 201, undefined],
    ['a PNG sent as a PDF', PNG, 'application/pdf', 415, 'FILE_TYPE_CONTRADICTED'],
    ['a PDF sent as a JPEG', PDF, 'image/jpeg', 415, 'FILE_TYPE_CONTRADICTED'],
    ['text', Buffer.from('hello'), 'application/octet-stream', 415, 'FILE_TYPE_REFUSED'],
    ['a page', Buffer.from('<html><script>1</script></html>'), 'text/html', 415, 'FILE_TYPE_REFUSED'],
    ['JSON', Buffer.from('{"a":1}'), 'application/json', 415, 'FILE_TYPE_REFUSED'],
    ['nothing', Buffer.alloc(0), 'application/pdf', 400, 'FILE_EMPTY'],
    ['more than 10 MiB', Buffer.concat([PDF, Buffer.alloc(10 * MIB)]), 'application/pdf', 413, 'FILE_TOO_LARGE'],
  ])('%s', async (_, body, type, status, rule) => {
    const before = blobs().length;
    const answer = await upload(anna, id, body, type, 'x.png');
    expect([answer.status, errorOf(answer.body).extensions?.rule]).toEqual([status, rule]);
    if (status !== 201) {
      expect(errorOf(answer.body).extensions).toMatchObject({ code: 'RULE_REFUSED', requestId: expect.any(String) });
      expect(blobs()).toHaveLength(before);
    }
  });

  it('takes exactly 10 MiB, and no more when the length is not announced', async () => {
    const largest = Buffer.concat([PDF, Buffer.alloc(10 * MIB - PDF.length)]);
    expect((await upload(anna, id, largest, 'application/pdf')).status).toBe(201);
    const chunked = test.http().put(`/documents/${id}/files`).set('content-type', 'application/pdf');
    void chunked.set('authorization', `Bearer ${anna.token}`).set('transfer-encoding', 'chunked');
    chunked.write(largest);
    chunked.write(Buffer.alloc(1));
    const answer = await chunked;
    expect(answer.status).toBe(413);
  });

  it('leaves nothing when the sender goes away', async () => {
    await test.app.listen(0, '127.0.0.1');
    const { port } = new URL(await test.app.getUrl());
    const before = blobs().length;
    const files = () => world.db.documentFile.count({ where: { documentId: id } });
    const rows = await files();
    const untilFiles = async (holds: (count: number) => boolean): Promise<void> => {
      for (const end = Date.now() + 30_000; !holds(blobs().length) && Date.now() < end;) await sleep(20);
    };
    await new Promise<void>((done) => {
      const socket = connect(Number(port), '127.0.0.1', () => {
        socket.write(
          `PUT /documents/${id}/files HTTP/1.1\r\nhost: x\r\nauthorization: Bearer ${anna.token}\r\n` +
            `content-type: application/pdf\r\ncontent-length: 1000000\r\n\r\n`,
        );
        socket.write(PDF);
        void untilFiles((count) => count > before).then(() => socket.destroy());
      });
      socket.on('close', () => done());
    });
    await untilFiles((count) => count === before);
    expect(blobs()).toHaveLength(before);
    expect(await files()).toBe(rows);
  });

  it('are for those who see the document: others get the same answer as for what does not exist', async () => {
    const unknown = '00000000-0000-7000-8000-000000000000';
    const texts = new Set<string>();
    for (const documentId of [id, unknown, 'nonsense']) {
      for (const body of [PDF, Buffer.concat([PDF, Buffer.alloc(10 * MIB)])]) {
        const put = await upload(bruno, documentId, body, 'application/pdf');
        texts.add(told(put));
      }
      const get = await test
        .http()
        .get(`/documents/${documentId}/files/${unknown}`)
        .set('authorization', `Bearer ${bruno.token}`);
      texts.add(told(get));
    }
    expect([...texts]).toEqual([`404 NOT_FOUND ${TEXT}`]);
    await upload(null, id, PDF).expect(401);
    await test.http().get(`/documents/${id}/files/${unknown}`).expect(401);
  });

  it('other routes keep their parsers and their limit', async () => {
    const post = (type: string, body: string | Buffer) =>
      test.http().post('/graphql').set('content-type', type).send(body);
    expect((await post('application/pdf', PDF)).status).toBe(415);
    expect((await post('application/octet-stream', Buffer.alloc(MIB))).status).toBe(415);
    expect((await post('application/json', JSON.stringify({ query: ' '.repeat(300 * 1024) }))).status).toBe(413);
  });
});

describe('when the animal moves on', () => {
  it('what covers it by id goes along with it, with the file; the giver keeps it too', async () => {
    const moved = await world.animal(anna, taxonId);
    const kept = await world.animal(anna, taxonId);
    const paper = await record(anna, {
      kind: 'certificate',
      covers: [{ animalId: moved }, { animalId: kept }, { taxonId }],
    });
    const licence = await record(anna, { covers: [{ taxonId }] });
    const uploaded = await upload(anna, paper.id, PDF).expect(201);
    const file = `/documents/${paper.id}/files/${(uploaded.body as { id: string }).id}`;
    const download = (keeper: TestKeeper) => test.http().get(file).set('authorization', `Bearer ${keeper.token}`);
    expect(await read(bruno, paper.id)).toBe(TEXT);
    expect((await download(bruno)).status).toBe(404);

    await handOver(moved, anna, bruno);

    expect(await read(bruno, paper.id)).toMatchObject({ keeperId: null, covers: [{ animal: { id: moved } }] });
    expect((await download(bruno)).status).toBe(200);
    expect(await documentsOf(bruno, moved)).toEqual([paper.id]);
    expect(await documentsOf(bruno, kept)).toBeNull();
    expect(await read(bruno, licence.id)).toBe(TEXT);
    expect((await upload(bruno, paper.id, PNG)).status).toBe(403);

    expect(await read(anna, paper.id)).toMatchObject({ keeperId: anna.keeperId });
    expect(await documentsOf(anna, moved)).toBeNull();
    expect(await documentsOf(anna, kept)).toEqual([paper.id]);
  });
});

async function documentsOf(keeper: TestKeeper, id: string): Promise<string[] | null> {
  const { animal } = await test.get<{ animal: { documents: { edges: { node: { id: string } }[] } | null } }>(
    `query ($id: ID!) { animal(id: $id) { documents { edges { node { id } } } } }`,
    { id },
    keeper.token,
  );
  return animal.documents?.edges.map(({ node }) => node.id) ?? null;
}

async function handOver(animalId: string, from: TestKeeper, to: TestKeeper): Promise<void> {
  const step = async (name: string, who: TestKeeper, given: object): Promise<string> => {
    const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
    const answer = await test.get<Record<string, { transfer: { id: string } }>>(
      `mutation ($input: ${type}!) { ${name}(input: $input) { transfer { id } } }`,
      { input: given },
      who.token,
    );
    return answer[name]?.transfer.id ?? '';
  };
  const parties = { fromKeeperId: from.keeperId, toKeeperId: to.keeperId };
  const transferId = await step('offerTransfer', from, { ...parties, kind: 'gift', items: [{ animalId }] });
  await step('acceptTransfer', to, { transferId });
  await step('sendTransfer', from, { transferId, sentOn: '2026-06-10' });
  const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
  await step('receiveTransfer', to, { transferId, receivedOn: '2026-06-10', items });
}

it('notices and mails are read by their own people, page by page', async () => {
  const dora = await world.keeper('Dora');
  const query = `query ($k: ID!) { notices(keeperId: $k) { edges { node { kind subject body dueOn } } } }`;
  expect((await test.ask(query, { k: dora.keeperId }, anna.token)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  expect(await test.get(query, { k: dora.keeperId }, dora.token)).toEqual({ notices: { edges: [] } });
  const mails = `{ mailOutbox(first: 5) { edges { node { subject text sentAt } } } }`;
  expect(await test.get(mails, {}, dora.token)).toEqual({ mailOutbox: { edges: [] } });
  expect((await test.ask(mails)).errors?.[0]?.extensions.code).toBe('UNAUTHENTICATED');
});

it('uses the blob folder of the server', () => {
  const { dataDir } = test.app.get<Config>(CONFIG, { strict: false });
  expect(statSync(join(dataDir, 'blobs', 'sha256')).isDirectory()).toBe(true);
});

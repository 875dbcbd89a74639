import sharp from 'sharp';
import { makeHostileWorld } from './hostile-world.js';
import { type RegistryWorld, type TestKeeper } from './registry-world.js';
import { type TestApp } from './test-app.js';

/** The day on which it all happens. */
export const HIDDEN_ON = '2026-06-10';

const PDF = Buffer.from('%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n');

/** What two keepers have and did between them, with files; nothing of it is anybody else's to see. */
export type HiddenWorld = {
  readonly holder: TestKeeper;
  /** Ids by table. */
  readonly ids: ReadonlyMap<string, readonly string[]>;
  readonly registerNumbers: readonly string[];
};

/** Makes them through the API, on HIDDEN_ON by the server's clock. */
export async function makeHiddenWorld(test: TestApp, world: RegistryWorld): Promise<HiddenWorld> {
  test.setDay(HIDDEN_ON);
  const { one, other } = await makeHostileWorld(test, world, HIDDEN_ON);
  const { db } = world;
  const write = (by: TestKeeper, name: string, input: object) =>
    test.get(
      `mutation ($input: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { __typename } }`,
      { input },
      by.token,
    );
  const put = async (path: string, bytes: Buffer, type: string): Promise<void> => {
    const { status } = await test
      .http()
      .put(path)
      .set({ authorization: `Bearer ${one.token}`, 'content-type': type })
      .send(bytes);
    if (status !== 201) throw new Error(`${path} answered ${status}`);
  };
  const { animalId, seriesId: markId } = await db.animalMark.findFirstOrThrow({
    where: { kind: 'photo_documentation', animal: { custody: { some: { keeperId: one.keeperId, validTo: null } } } },
  });
  const { id: documentId } = await db.holdingDocument.findFirstOrThrow({ where: { keeperId: one.keeperId } });
  const background = { r: 90, g: 140, b: 60 };
  const picture = await sharp({ create: { width: 60, height: 40, channels: 3, background } })
    .jpeg()
    .toBuffer();
  await put(`/animals/${animalId}/files`, picture, 'image/jpeg');
  await put(`/documents/${documentId}/files`, PDF, 'application/pdf');
  await write(one, 'recordPhotoSession', { markId });
  await write(one, 'recordFate', { animalId, fate: 'stolen', theft: { policeInformed: false } });
  const club = await db.clubMember.findFirstOrThrow({ where: { keeperId: one.keeperId } });
  await write(one, 'inviteToClub', { clubId: club.clubId, email: 'somebody.else@example.org' });
  await write(other, 'recordFact', {
    animalId: (await ofKeeper(world, other)).id,
    note: { topic: 'private', text: 'Ours' },
  });
  const animals = await db.animal.findMany({ take: 4, orderBy: { id: 'asc' } });
  return { holder: one, ids: await idsByTable(world), registerNumbers: animals.map((each) => each.registerNumber) };
}

async function ofKeeper({ db }: RegistryWorld, { keeperId }: TestKeeper): Promise<{ id: string }> {
  return db.animal.findFirstOrThrow({ where: { custody: { some: { keeperId, validTo: null } } } });
}

/** Some of the ids there are, by table. Taxa and lines are everybody's. */
async function idsByTable({ db }: RegistryWorld): Promise<Map<string, string[]>> {
  const ids = new Map<string, string[]>();
  for (const { name } of await db.$queryRaw<{ name: string }[]>`
    SELECT c.table_name AS name FROM information_schema.columns c JOIN information_schema.tables t USING (table_schema, table_name)
    WHERE table_schema = 'public' AND column_name = 'id' AND data_type = 'uuid' AND table_type = 'BASE TABLE' ORDER BY 1`) {
    const rows = await db.$queryRawUnsafe<{ id: string }[]>(`SELECT id::text AS id FROM "${name}" ORDER BY id LIMIT 4`);
    const found = rows.map(({ id }) => id);
    if (found.length > 0 && !['taxon', 'line'].includes(name)) ids.set(name, found);
  }
  return ids;
}

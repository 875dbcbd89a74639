import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import readExif from 'exif-reader';
import sharp from 'sharp';
import { lockAnimals } from '../../libs/animal/index.js';
import { handOver, setOwners } from '../../libs/custody/index.js';
import { day } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const PDF = Buffer.from('%PDF-1.4\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF\n');
const FILES = `query ($id: ID!) { animal(id: $id) { files { id kind caption taken takenByCamera width height
  address thumbnailAddress originalAddress fileName withdrawn { reason } } } }`;
type File = {
  id: string;
  kind: string;
  caption: string | null;
  taken: string | null;
  takenByCamera: string | null;
  width: number | null;
  height: number | null;
  address: string;
  thumbnailAddress: string | null;
  originalAddress: string | null;
  fileName: string | null;
  withdrawn: { reason: string } | null;
};

/** A photo as a telephone makes it: lying on its side, with place, owner and time in its notes. */
const photo = (shade = 90) =>
  sharp({ create: { width: 60, height: 40, channels: 3, background: { r: shade, g: 140, b: 60 } } })
    .withExif({
      IFD0: { Make: 'Camera Maker', Artist: 'Odile Canary' },
      IFD2: { DateTimeOriginal: '2026:05:03 14:20:00' },
      IFD3: { GPSLatitudeRef: 'N', GPSLatitude: '48/1 51/1 30/1', GPSLongitudeRef: 'E', GPSLongitude: '2/1 17/1 40/1' },
    })
    .withMetadata({ orientation: 6 })
    .jpeg()
    .toBuffer();

/** A picture with something in every corner, broken off half-way. */
async function half(): Promise<Buffer> {
  const noise = {
    create: { width: 300, height: 300, channels: 3, noise: { type: 'gaussian', mean: 128, sigma: 60 } },
  } as const;
  const whole = await sharp({ create: { ...noise.create, background: '#888' } })
    .jpeg()
    .toBuffer();
  return whole.subarray(0, whole.length / 2);
}

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
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

async function send(keeper: TestKeeper, animalId: string, bytes: Buffer, type: string, query: object = {}) {
  return test
    .http()
    .put(`/animals/${animalId}/files`)
    .query({ name: 'Anna at home.jpg', ...query })
    .set('content-type', type)
    .set('authorization', `Bearer ${keeper.token}`)
    .send(bytes);
}
async function fetchFile(keeper: TestKeeper, address: string | null | undefined) {
  const answer = await test
    .http()
    .get(address ?? '/nowhere')
    .set('authorization', `Bearer ${keeper.token}`)
    .buffer(true)
    .parse((response, done) => {
      const parts: Buffer[] = [];
      response.on('data', (part: Buffer) => parts.push(part));
      response.on('end', () => done(null, Buffer.concat(parts)));
    });
  return { status: answer.status, headers: answer.headers as Record<string, string>, bytes: answer.body as Buffer };
}
async function files(keeper: TestKeeper, id: string): Promise<File[]> {
  return (await test.get<{ animal: { files: File[] } }>(FILES, { id }, keeper.token)).animal.files;
}
const ruleOf = (body: unknown) => {
  const { errors } = body as { errors?: { extensions: { code: string; rule?: string } }[] };
  return errors?.[0]?.extensions.rule ?? errors?.[0]?.extensions.code;
};

async function give(animalId: string, to: TestKeeper): Promise<void> {
  const owner = { kind: 'keeper' as const, keeperId: to.keeperId };
  await new UnitOfWork(world.db, new Clock()).writeAsServer(null, async (tx) => {
    await lockAnimals(tx, [animalId]);
    const on = day(new Date().toISOString().slice(0, 10));
    const moved = await handOver(tx, { animalId, to: owner, on, leftBy: 'given', arrivedBy: 'received' });
    return moved.ok ? setOwners(tx, { animalId, from: on, shares: [{ owner, parts: 1 }] }) : moved;
  });
}

describe('a picture', () => {
  it('is kept as it came for its keeper; the copies carry neither place nor camera, and stand upright', async () => {
    const id = await world.animal(anna, taxonId);
    const sent = await photo();
    const query = { caption: 'The left side', when: '2026-05' };
    const answer = await send(anna, id, sent, 'image/jpeg', query);
    expect([answer.status, (answer.body as { animalId: string }).animalId]).toEqual([201, id]);
    const [file, ...more] = await files(anna, id);
    expect(more).toEqual([]);
    expect(file).toMatchObject({
      kind: 'picture',
      caption: 'The left side',
      taken: '2026-05',
      takenByCamera: '2026-05-03T14:20:00',
      width: 40, // it lay on its side
      height: 60,
      fileName: 'Anna at home.jpg',
      withdrawn: null,
    });

    const original = await fetchFile(anna, file?.originalAddress);
    expect(original.bytes.equals(sent)).toBe(true);
    expect(readExif((await sharp(original.bytes).metadata()).exif ?? Buffer.alloc(0)).GPSInfo).toBeDefined();
    for (const address of [file?.address, file?.thumbnailAddress]) {
      const copy = await fetchFile(anna, address);
      expect([copy.status, copy.headers['content-type']]).toEqual([200, 'image/jpeg']);
      const { width, height, exif, xmp, iptc, icc } = await sharp(copy.bytes).metadata();
      expect([width, height]).toEqual([40, 60]);
      expect([exif, xmp, iptc, icc]).toEqual([undefined, undefined, undefined, undefined]);
      expect(copy.bytes.includes('Canary')).toBe(false);
      expect(copy.headers['content-disposition']).not.toContain('Anna');
    }
  });

  it('sent twice is kept once', async () => {
    const id = await world.animal(anna, taxonId);
    const sent = await photo();
    const answers = await Promise.all([1, 2, 3].map(() => send(anna, id, sent, 'image/jpeg')));
    expect(answers.map(({ status }) => status).toSorted()).toEqual([200, 200, 201]);
    expect(await files(anna, id)).toHaveLength(1);
  });

  it('large ones are shown smaller', async () => {
    const id = await world.animal(anna, taxonId);
    const large = await sharp({ create: { width: 3000, height: 1500, channels: 3, background: '#345' } })
      .png()
      .toBuffer();
    expect((await send(anna, id, large, 'application/octet-stream')).status).toBe(201);
    const [file] = await files(anna, id);
    expect(file).toMatchObject({ width: 3000, height: 1500, takenByCamera: null });
    const shared = await sharp((await fetchFile(anna, file?.address)).bytes).metadata();
    expect([shared.width, shared.height]).toEqual([2048, 1024]);
    const thumb = await sharp((await fetchFile(anna, file?.thumbnailAddress)).bytes).metadata();
    expect([thumb.width, thumb.height]).toEqual([320, 160]);
  });
});

describe('what others see', () => {
  it('nothing for a club-mate; the copy for the next keeper; the original for its keeper alone, for good', async () => {
    const id = await world.animal(anna, taxonId);
    await send(anna, id, await photo(), 'image/jpeg');
    await send(anna, id, PDF, 'application/pdf', { name: 'vet.pdf' });
    expect(await files(bruno, id)).toEqual([]);
    const [picture, paper] = await files(anna, id);
    expect([picture?.kind, paper?.kind, paper?.thumbnailAddress]).toEqual(['picture', 'paper', null]);
    for (const address of [picture?.address, picture?.thumbnailAddress, picture?.originalAddress, paper?.address])
      expect((await fetchFile(bruno, address)).status).toBe(404);

    await give(id, bruno);
    const [seen, ...more] = await files(bruno, id);
    expect(more).toEqual([]); // a paper cannot be cleaned: it stays with its keeper
    expect(seen).toMatchObject({ id: picture?.id, originalAddress: null, fileName: null });
    expect((await fetchFile(bruno, seen?.address)).status).toBe(200);
    expect((await fetchFile(bruno, picture?.originalAddress)).status).toBe(404);
    expect((await fetchFile(bruno, paper?.address)).status).toBe(404);

    // The giver keeps their own, and sees none that came later.
    await send(bruno, id, await photo(200), 'image/jpeg');
    expect((await files(anna, id)).map((file) => file.id)).toEqual([picture?.id, paper?.id]);
    expect((await fetchFile(anna, picture?.originalAddress)).status).toBe(200);
    expect(await files(bruno, id)).toHaveLength(2);
  });

  it('a withdrawn one is gone for others and kept for its keeper', async () => {
    const id = await world.animal(anna, taxonId);
    await send(anna, id, await photo(), 'image/jpeg');
    const [file] = await files(anna, id);
    await give(id, bruno);
    const withdraw = (keeper: TestKeeper) =>
      test.ask(
        `mutation ($input: WithdrawAnimalFileInput!) { withdrawAnimalFile(input: $input) { animal { id } } }`,
        { input: { fileId: file?.id, reason: 'Shows the window' } },
        keeper.token,
      );
    expect((await withdraw(bruno)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    expect((await withdraw(anna)).errors).toBeUndefined();
    expect((await withdraw(anna)).errors?.[0]?.extensions.rule).toBe('FILE_WITHDRAWN');
    expect(await files(bruno, id)).toEqual([]);
    expect((await fetchFile(bruno, file?.address)).status).toBe(404);
    expect((await files(anna, id))[0]?.withdrawn).toEqual({ reason: 'Shows the window' });
    expect((await fetchFile(anna, file?.originalAddress)).status).toBe(200);
    const [entry] = await world.db.ledgerEntry.findMany({ where: { action: 'animal.file-withdrawn' } });
    expect(entry?.body).not.toContain('window');
  });
});

describe('what is refused leaves nothing', () => {
  it.each([
    ['a PDF called .jpg', () => PDF, 'image/jpeg', {}, 'FILE_TYPE_CONTRADICTED'],
    ['half a picture', half, 'image/jpeg', {}, 'PICTURE_UNREADABLE'],
    ['text', () => Buffer.from('hello'), 'text/plain', {}, 'FILE_TYPE_REFUSED'],
    ['nothing', () => Buffer.alloc(0), 'image/jpeg', {}, 'FILE_EMPTY'],
    ['40 MB', () => Buffer.alloc(40_000_000, 1), 'image/jpeg', {}, 'FILE_TOO_LARGE'],
    ['a day that is no day', photo, 'image/jpeg', { when: '2026-02-30' }, 'INVALID_INPUT'],
    ['a day to come', photo, 'image/jpeg', { when: '2999-01-01' }, 'DAY_IN_FUTURE'],
    ['a caption without end', photo, 'image/jpeg', { caption: 'x'.repeat(301) }, 'INVALID_INPUT'],
  ] as const)('%s', async (_, bytes, type, query, rule) => {
    const id = await world.animal(anna, taxonId);
    const answer = await send(anna, id, await bytes(), type, query);
    expect(ruleOf(answer.body)).toBe(rule);
    expect(answer.status).toBeGreaterThanOrEqual(400);
    expect(answer.status).toBeLessThan(500);
    expect(await files(anna, id)).toEqual([]);
  });

  it('40 MB of somebody whose session is over', async () => {
    const id = await world.animal(anna, taxonId);
    const over = { ...anna, token: 'nobody' };
    const answer = await send(over, id, Buffer.alloc(40_000_000, 1), 'image/jpeg');
    expect([answer.status, ruleOf(answer.body)]).toEqual([401, 'UNAUTHENTICATED']);
  });

  it('a picture that would unpack to more than memory holds', async () => {
    const id = await world.animal(anna, taxonId);
    const bomb = await sharp({ create: { width: 12_000, height: 9_000, channels: 3, background: '#fff' } })
      .png({ compressionLevel: 9 })
      .toBuffer();
    expect(bomb.length).toBeLessThan(2_000_000);
    expect(ruleOf((await send(anna, id, bomb, 'image/png')).body)).toBe('PICTURE_UNREADABLE');
  });

  it('the same answer for an animal that is hidden and one that is not there; another for one that is seen', async () => {
    const stranger = await world.keeper('Stranger');
    const id = await world.animal(anna, taxonId);
    const hidden = await send(stranger, id, await photo(), 'image/jpeg');
    const absent = await send(stranger, '0192a000-0000-7000-8000-000000000000', await photo(), 'image/jpeg');
    const message = (body: unknown) => (body as { errors: { message: string }[] }).errors[0]?.message;
    expect([hidden.status, ruleOf(hidden.body)]).toEqual([404, 'NOT_FOUND']);
    expect(message(hidden.body)).toBe(message(absent.body));
    expect(ruleOf((await send(bruno, id, await photo(), 'image/jpeg')).body)).toBe('FORBIDDEN');
  });
});

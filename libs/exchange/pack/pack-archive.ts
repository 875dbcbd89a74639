import { createHash } from 'node:crypto';
import { Readable } from 'node:stream';
import { Injectable } from '@nestjs/common';
import { Zip, ZipDeflate, ZipPassThrough } from 'fflate';
import { ruleRefused, unavailable } from '../../kernel/index.js';
import { BlobStore } from '../../platform/blobs/index.js';
import { canonicalJson } from '../../platform/canonical.js';
import { Clock } from '../../platform/clock.js';
import { drawRecordPack } from './record-pack.pdf.js';
import { type RecordPack, recordPackJsonSchema } from './record-pack.schema.js';

/** Most bytes of the files of one archive. */
export const ARCHIVE_BYTES = 250 * 1024 * 1024;

type Listed = { readonly path: string; readonly sha256: string; readonly size: number };
type Entry = Listed & { readonly open: () => Promise<Readable>; readonly packed: boolean };

/** Puts a pack, its form, the same for a person to read, and its files into one archive. */
@Injectable()
export class PackArchive {
  constructor(
    private readonly blobs: BlobStore,
    private readonly clock: Clock,
  ) {}

  /**
   * A ZIP archive as a stream: no more than one part of one file is in memory. `pack.json` is canonical JSON (RFC 8785), and
   * `manifest.json` has the SHA-256 of every other member. RULE_REFUSED RECORD_TOO_LARGE; UNAVAILABLE for bytes that are not kept.
   */
  async write(pack: RecordPack): Promise<Readable> {
    const files = filesOf(pack);
    const bytes = files.reduce((sum, { size }) => sum + size, 0);
    if (bytes > ARCHIVE_BYTES) {
      const [size, most] = [bytes, ARCHIVE_BYTES].map((each) => Math.ceil(each / 1024 / 1024));
      const message = `The files of this record are ${size} MB, and an archive holds at most ${most} MB.`;
      throw ruleRefused({ rule: 'RECORD_TOO_LARGE', message });
    }
    const pdf = await drawRecordPack(pack, this.clock.today());
    const entries: Entry[] = [
      held('pack.json', Buffer.from(canonicalJson(pack)), true),
      held('schema.json', Buffer.from(`${JSON.stringify(recordPackJsonSchema(), null, 2)}\n`), true),
      held('record.pdf', pdf, false),
      ...files.map((file) => ({ ...file, packed: false, open: () => this.openBlob(file.sha256) })),
    ];
    const members = entries.map(({ path, sha256, size }) => ({ path, sha256, size }));
    const manifest = held('manifest.json', Buffer.from(canonicalJson({ form: pack.form, members })), true);
    return Readable.from(zip([manifest, ...entries]), { objectMode: false });
  }

  private async openBlob(sha256: string): Promise<Readable> {
    const bytes = await this.blobs.open(sha256);
    if (bytes === null) throw unavailable('The file store');
    return bytes;
  }
}

/** Every file a pack names, once, in the order of their hashes. */
function filesOf(pack: RecordPack): Listed[] {
  const files = pack.animals.flatMap((animal) => [
    ...animal.documents.flatMap((document) => document.files),
    ...animal.pictures,
  ]);
  const byPath = new Map(files.map(({ path, sha256, size }) => [path, { path, sha256, size }]));
  return [...byPath.values()].toSorted((a, b) => (a.path < b.path ? -1 : 1));
}

function held(path: string, bytes: Buffer, packed: boolean): Entry {
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  return { path, sha256, size: bytes.length, packed, open: async () => Readable.from([bytes]) };
}

/** The first moment a ZIP archive can name: the same record gives the same bytes whenever it is asked for. */
const NO_DAY = new Date(1980, 0, 1);

async function* zip(entries: readonly Entry[]): AsyncGenerator<Uint8Array> {
  const ready: Uint8Array[] = [];
  const archive = new Zip((error, chunk) => {
    if (error !== null) throw error;
    ready.push(chunk);
  });
  for (const { path, packed, open } of entries) {
    // What is compressed already is stored as it is.
    const member = packed ? new ZipDeflate(path) : new ZipPassThrough(path);
    member.mtime = NO_DAY;
    archive.add(member);
    for await (const part of await open()) {
      member.push(part as Uint8Array);
      yield* ready.splice(0);
    }
    member.push(new Uint8Array(0), true);
    yield* ready.splice(0);
  }
  archive.end();
  yield* ready.splice(0);
}

import { type AnimalFileView } from '../../animal/index.js';
import { type DocumentView } from '../../document/index.js';
import { restarts, type StoredQuarantine } from '../../health/index.js';
import { dayKnown, isKnown, type Until, wasInForce } from './pack-moment.js';
import { type PackAnimal } from './record-pack.schema.js';
import { type RecordPackStore } from './record-pack.store.js';

type Rows<K extends 'findCustody' | 'findOwnership'> = Awaited<ReturnType<RecordPackStore[K]>>;

/** The reader's own keepers, by id, with their names. */
export type Own = ReadonlyMap<string, string>;

/** Who had the animal, as known then: what kind of holder, and the reader's own part by name. */
export function packCustody(rows: Rows<'findCustody'>, own: Own, until: Until): PackAnimal['custody'] {
  return rows
    .filter((row) => wasInForce(row, until))
    .map((row) => {
      const name = own.get(row.keeperId ?? '') ?? null;
      return {
        holder: row.holderKind,
        own: name !== null,
        name,
        from: row.from,
        to: row.to,
        arrivedBy: row.arrivedBy,
        leftBy: row.leftBy,
        recordedAt: row.recordedAt.toISOString(),
      };
    });
}

/** Who owned it in which shares, as known then; nobody is named. */
export function packOwnership(rows: Rows<'findOwnership'>, own: Own, until: Until): PackAnimal['ownership'] {
  return rows
    .filter((row) => wasInForce(row, until))
    .map((row) => ({
      state: row.state,
      from: row.from,
      to: row.to,
      shares: row.shares.map(({ keeperId, parts }) => ({
        owner: keeperId === null ? 'outside_party' : 'keeper',
        own: own.has(keeperId ?? ''),
        parts,
      })),
      recordedAt: row.recordedAt.toISOString(),
    }));
}

/** Its stays in quarantine, as known then. A past holder is not told of the one that began with the hand-over. */
export function packQuarantines(
  id: string,
  groups: readonly StoredQuarantine[],
  own: Own,
  until: Until,
): PackAnimal['quarantines'] {
  return groups
    .flatMap((group) => {
      const known = group.entries.filter((entry) => isKnown(entry, until));
      return known
        .filter((entry) => entry.animalId === id)
        .filter((entry) => until === null || own.has(group.keeperId) || entry.recordedAt < until)
        .map((entry) => ({
          days: group.days,
          restartScope: group.restartScope,
          enteredOn: entry.enteredOn,
          leftOn: dayKnown(entry.leftOn, until),
          restartedOn: [
            ...new Set(
              known
                .filter((other) => other.enteredOn > entry.enteredOn && restarts(group, entry, other, other.enteredOn))
                .map((other) => other.enteredOn),
            ),
          ].toSorted(),
          recordedAt: entry.recordedAt.toISOString(),
        }));
    })
    .toSorted((a, b) => (a.enteredOn < b.enteredOn ? -1 : 1));
}

const EXTENSION = { 'application/pdf': 'pdf', 'image/jpeg': 'jpg', 'image/png': 'png' } as const;

/** Where bytes lie within the archive. */
function pathOf(sha256: string, mediaType: string): string {
  return `files/${sha256}.${EXTENSION[mediaType as keyof typeof EXTENSION] ?? 'bin'}`;
}

/** The holding documents that go along, with the files that were there. Names of files stay with whoever gave them. */
export function packDocuments(documents: readonly DocumentView[], until: Until): PackAnimal['documents'] {
  return documents.map((row) => ({
    kind: row.kind,
    permitForm: row.permitForm,
    number: row.number,
    authority: row.authority,
    jurisdiction: row.jurisdiction,
    validFrom: row.validFrom,
    validUntil: row.validUntil,
    recordedAt: row.recordedAt.toISOString(),
    files: row.files
      .filter(({ uploadedAt }) => isKnown({ recordedAt: uploadedAt }, until))
      .map(({ sha256, mediaType, size }) => ({ sha256, mediaType, size, path: pathOf(sha256, mediaType) })),
  }));
}

/** The pictures that are not withdrawn, as others see them. */
export function packPictures(files: readonly AnimalFileView[], until: Until): PackAnimal['pictures'] {
  return files
    .filter((file) => file.withdrawn === null && isKnown({ recordedAt: file.uploadedAt }, until))
    .flatMap(({ copies, caption, edtf, uploadedAt }) =>
      copies === null
        ? []
        : [
            {
              ...copies.shared,
              width: copies.width,
              height: copies.height,
              caption,
              taken: edtf,
              recordedAt: uploadedAt.toISOString(),
              path: pathOf(copies.shared.sha256, 'image/jpeg'),
            },
          ],
    );
}

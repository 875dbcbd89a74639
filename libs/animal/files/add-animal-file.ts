import { type Readable } from 'node:stream';
import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { findAccess } from '../../access/index.js';
import {
  decide,
  forbidden,
  notFound,
  refuse,
  ruleRefused,
  type UncertainDay,
  type Viewer,
} from '../../kernel/index.js';
import { BlobStore, type ReceivedBlob } from '../../platform/blobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { Database, UnitOfWork } from '../../platform/prisma/index.js';
import { cleanFileName, type FileMediaType, takeUpload, type UploadRules } from '../../platform/uploads/index.js';
import { requireAuthority } from '../store/animal-authority.store.js';
import { lockAnimals } from '../store/animal-write.store.js';
import { type Copies, findSent, insertAnimalFile } from './animal-file.store.js';
import { preparePicture } from './prepare-picture.js';

/** Pictures and papers of an animal. */
export const ANIMAL_FILES: UploadRules = {
  types: ['image/jpeg', 'image/png', 'image/webp', 'application/pdf'],
  inWords: 'JPEG, PNG, WebP and PDF',
  maxBytes: 20 * 1024 * 1024,
  remedy: 'Save it smaller, or with stronger compression.',
};

/** Most files of one animal from one keeper, withdrawn ones included. */
const MAX_FILES = 60;

export type AddAnimalFileCommand = {
  readonly animalId: string;
  readonly name: string;
  readonly caption: string | null;
  /** When the keeper says it was taken. */
  readonly when: UncertainDay | null;
  /** The content type it was sent with, without parameters. */
  readonly declared: string;
};

const fileAdded = defineLedgerAction(
  'animal.file-added',
  1,
  z.strictObject({
    animalId: z.uuid(),
    fileId: z.uuid(),
    keeperId: z.uuid(),
    sha256: z.string(),
    mediaType: z.string(),
    size: z.int(),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
  }),
);

const outcome = z.object({ fileId: z.uuid(), added: z.boolean() });

/** Adds a picture or a paper to an animal that a keeper of the viewer has or owns. */
@Injectable()
export class AddAnimalFile {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly database: Database,
    private readonly blobs: BlobStore,
  ) {}

  /**
   * The viewer is asked first, then the bytes are taken, and only what passes every rule is kept. `added` is false where the
   * keeper sent the same bytes before. NOT_FOUND, FORBIDDEN, FILE_*, PICTURE_UNREADABLE, ANIMAL_FILES_FULL, DAY_IN_FUTURE.
   */
  async execute(viewer: Viewer, command: AddAnimalFileCommand, source: Readable): Promise<z.infer<typeof outcome>> {
    await this.requireFull(viewer, command.animalId);
    const { blob, mediaType } = await takeUpload(this.blobs, ANIMAL_FILES, command.declared, source);
    try {
      const copies = mediaType === 'application/pdf' ? null : await this.copy(blob);
      // Before the row, so that no committed row is without its bytes. Bytes without a row are found again by their hash.
      await blob.keep();
      return await this.record(viewer, command, { sha256: blob.sha256, size: blob.size, mediaType }, copies);
    } finally {
      await blob.discard();
    }
  }

  private async requireFull(viewer: Viewer, animalId: string): Promise<void> {
    const access = (await findAccess(this.database.client, viewer, [animalId])).get(animalId);
    if (access === undefined) throw notFound('animal');
    if (access.level !== 'full') throw forbidden('Only a keeper who has or owns the animal may do this.');
  }

  private async copy(blob: ReceivedBlob): Promise<Copies> {
    const prepared = await preparePicture(await blob.content());
    if (!prepared.ok) throw ruleRefused(prepared.refusal);
    const { shared, thumb, ...facts } = prepared.value;
    return {
      ...facts,
      shared: { sha256: await this.blobs.put(shared), size: shared.length },
      thumb: { sha256: await this.blobs.put(thumb), size: thumb.length },
    };
  }

  private record(
    viewer: Viewer,
    command: AddAnimalFileCommand,
    original: { sha256: string; size: number; mediaType: FileMediaType },
    copies: Copies | null,
  ): Promise<z.infer<typeof outcome>> {
    const { animalId, caption, when } = command;
    const fileName = cleanFileName(command.name, original.mediaType);
    const request = { action: 'animal.add-file', input: { animalId, caption, when, fileName, ...original }, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      await lockAnimals(tx, [animalId]);
      const { keeperId } = await requireAuthority(tx, viewer, animalId);
      if (when?.earliest && when.earliest > tx.today)
        return refuse('DAY_IN_FUTURE', 'A picture cannot have been taken on a day that is still to come.');
      const sent = await findSent(tx, { animalId, keeperId }, original.sha256);
      if (sent.sameId !== null) return decide({ fileId: sent.sameId, added: false });
      if (sent.count >= MAX_FILES)
        return refuse('ANIMAL_FILES_FULL', `A keeper may send ${MAX_FILES} files of one animal at most.`);
      const fileId = await insertAnimalFile(tx, { animalId, keeperId, fileName, caption, original, copies, when });
      await tx.ledger.append(fileAdded, {
        subjects: [animalId],
        body: {
          animalId,
          fileId,
          keeperId,
          ...original,
          earliest: when?.earliest ?? null,
          latest: when?.latest ?? null,
        },
        personal: { fileName, ...(caption === null ? {} : { caption }) },
      });
      return decide({ fileId, added: true });
    });
  }
}

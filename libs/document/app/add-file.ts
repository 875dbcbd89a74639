import { type Readable } from 'node:stream';
import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, forbidden, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { BlobStore } from '../../platform/blobs/index.js';
import { Database, UnitOfWork } from '../../platform/prisma/index.js';
import { cleanFileName, type FileMediaType, takeUpload } from '../../platform/uploads/index.js';
import { MAX_FILES } from '../core/document.core.js';
import { findSight } from '../store/document-scope.store.js';
import { findFiles, insertFile, lockOwnDocument } from '../store/document-write.store.js';
import { DOCUMENT_FILES } from './document-files.js';
import { documentFileAdded } from './document-ledger.js';

export type AddFileCommand = {
  readonly documentId: string;
  readonly name: string;
  /** The content type it was sent with, without parameters. */
  readonly declared: string;
};

/** The file as it is kept. `added` is false when the document had a file of the same bytes already. */
export type AddedFile = {
  readonly fileId: string;
  readonly fileName: string;
  readonly mediaType: FileMediaType;
  readonly size: number;
  readonly sha256: string;
  readonly added: boolean;
};

const outcome = z.object({ fileId: z.uuid(), added: z.boolean() });

/** Adds a file to an own document. */
@Injectable()
export class AddFile {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly database: Database,
    private readonly blobs: BlobStore,
  ) {}

  /**
   * The viewer is asked first, then the bytes are taken, and only what passes every rule is kept. NOT_FOUND, FORBIDDEN,
   * FILE_TOO_LARGE, FILE_EMPTY, FILE_TYPE_REFUSED, FILE_TYPE_CONTRADICTED, FILE_BROKEN_OFF, DOCUMENT_SUPERSEDED, DOCUMENT_FULL.
   */
  async execute(viewer: Viewer, command: AddFileCommand, source: Readable): Promise<AddedFile> {
    await this.requireOwn(viewer, command.documentId);
    const { blob, mediaType } = await takeUpload(this.blobs, DOCUMENT_FILES, command.declared, source);
    try {
      const { sha256, size } = blob;
      const facts = { mediaType, size, sha256, fileName: cleanFileName(command.name, mediaType) };
      // Before the row, so that no committed row is without its bytes. Bytes without a row are found again by their hash.
      await blob.keep();
      return { ...facts, ...(await this.record(viewer, command.documentId, facts)) };
    } finally {
      await blob.discard();
    }
  }

  private async requireOwn(viewer: Viewer, documentId: string): Promise<void> {
    const sight = (await findSight(this.database.client, viewer, [documentId])).get(documentId);
    if (sight === undefined) throw notFound('document');
    if (sight !== 'own') throw forbidden('Only the keeper who recorded the document may add files to it.');
  }

  private record(viewer: Viewer, documentId: string, facts: Omit<AddedFile, 'fileId' | 'added'>) {
    const request = { action: 'document.add-file', input: { documentId, ...facts }, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const document = await lockOwnDocument(tx, viewer, documentId);
      if (document.superseded)
        return refuse('DOCUMENT_SUPERSEDED', 'This record of the document was replaced. Add the file to the new one.');
      const files = await findFiles(tx, documentId);
      const same = files.find(({ sha256 }) => sha256 === facts.sha256);
      if (same !== undefined) return decide({ fileId: same.id, added: false });
      if (files.length >= MAX_FILES) return refuse('DOCUMENT_FULL', `A document has at most ${MAX_FILES} files.`);
      const fileId = await insertFile(tx, { documentId, ...facts, uploadedBy: viewer.accountId });
      const { fileName, ...body } = facts;
      await tx.ledger.append(documentFileAdded, {
        subjects: [documentId],
        body: { documentId, fileId, ...body },
        personal: { fileName },
      });
      return decide({ fileId, added: true });
    });
  }
}

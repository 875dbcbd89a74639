import { type Readable } from 'node:stream';
import { Injectable } from '@nestjs/common';
import { fileTypeFromBuffer } from 'file-type';
import { z } from 'zod';
import {
  type Decision,
  decide,
  type DomainError,
  forbidden,
  notFound,
  refuse,
  ruleRefused,
  type Viewer,
} from '../../kernel/index.js';
import { BlobStore, BlobTooLarge, type ReceivedBlob } from '../../platform/blobs/index.js';
import { Database, UnitOfWork } from '../../platform/prisma/index.js';
import { MAX_FILES } from '../core/document.core.js';
import {
  cleanFileName,
  decideFileKind,
  type FileMediaType,
  MAX_FILE_BYTES,
  mayBeDeclared,
} from '../core/file-kind.core.js';
import { findSight } from '../store/document-scope.store.js';
import { findFiles, insertFile, lockOwnDocument } from '../store/document-write.store.js';
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
    // Nothing is read that could not be kept.
    if (!mayBeDeclared(command.declared)) orThrow(decideFileKind(command.declared, undefined, 1));
    const received = await this.receive(source);
    try {
      const found = await fileTypeFromBuffer(received.head);
      const mediaType = orThrow(decideFileKind(command.declared, found?.mime, received.size));
      const { sha256, size } = received;
      const facts = { mediaType, size, sha256, fileName: cleanFileName(command.name, mediaType) };
      // Before the row, so that no committed row is without its bytes. Bytes without a row are found again by their hash.
      await received.keep();
      return { ...facts, ...(await this.record(viewer, command.documentId, facts)) };
    } finally {
      await received.discard();
    }
  }

  private async requireOwn(viewer: Viewer, documentId: string): Promise<void> {
    const sight = (await findSight(this.database.client, viewer, [documentId])).get(documentId);
    if (sight === undefined) throw notFound('document');
    if (sight !== 'own') throw forbidden('Only the keeper who recorded the document may add files to it.');
  }

  private async receive(source: Readable): Promise<ReceivedBlob> {
    try {
      return await this.blobs.receive(source, MAX_FILE_BYTES);
    } catch (error) {
      if (error instanceof BlobTooLarge) throw fileTooLarge();
      // The sender went away: not a fault of ours, and nobody is left to read the answer.
      if ((error as NodeJS.ErrnoException).code === 'ECONNRESET') throw brokenOff();
      throw error;
    }
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

function brokenOff(): DomainError {
  return ruleRefused({ rule: 'FILE_BROKEN_OFF', message: 'The file did not arrive whole. Send it again.' });
}

/** The refusal of a file that exceeds `MAX_FILE_BYTES`. */
export function fileTooLarge(): DomainError {
  return ruleRefused({
    rule: 'FILE_TOO_LARGE',
    message: `A file may have at most ${MAX_FILE_BYTES / 1024 / 1024} MiB. Scan it at a lower resolution.`,
  });
}

function orThrow<T>(decision: Decision<T>): T {
  if (!decision.ok) throw ruleRefused(decision.refusal);
  return decision.value;
}

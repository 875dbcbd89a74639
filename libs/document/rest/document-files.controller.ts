import { Readable } from 'node:stream';
import { Controller, Get, Inject, Param, Put, Query, Req, Res, type OnModuleInit } from '@nestjs/common';
import { HttpAdapterHost } from '@nestjs/core';
import { RouteConfig } from '@nestjs/platform-fastify';
import { type FastifyInstance, type FastifyReply, type FastifyRequest } from 'fastify';
import { z } from 'zod';
import { notFound, unavailable } from '../../kernel/index.js';
import { viewerOf } from '../../platform/auth/index.js';
import { BlobStore } from '../../platform/blobs/index.js';
import { Authorize } from '../../platform/graphql/index.js';
import { AddFile, fileTooLarge } from '../app/add-file.js';
import { attachment, MAX_FILE_BYTES } from '../core/file-kind.core.js';
import { DocumentReadStore } from '../store/document-read.store.js';
import { drain } from './drain.js';
import { allowRawBodies } from './raw-body.js';

const isId = (text: string): boolean => z.uuid().safeParse(text).success;

/** Files of holding documents: sent as the bytes they are, given back as downloads. */
@Controller('documents')
export class DocumentFilesController implements OnModuleInit {
  constructor(
    private readonly addFile: AddFile,
    private readonly documents: DocumentReadStore,
    private readonly blobs: BlobStore,
    @Inject(HttpAdapterHost) private readonly host: HttpAdapterHost,
  ) {}

  onModuleInit(): void {
    // Without HTTP (the demo loader builds the application for its use cases alone) there is no adapter.
    const { httpAdapter } = this.host as { httpAdapter: HttpAdapterHost['httpAdapter'] | null };
    if (httpAdapter !== null) allowRawBodies(httpAdapter.getInstance<FastifyInstance>());
  }

  /** `?name=` names it. The body is the file; its content type is what it is, or `application/octet-stream`. */
  @Put(':id/files')
  @RouteConfig({ rawBody: true })
  @Authorize('document.add-file')
  async put(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('id') id: string,
    @Query('name') name?: string | string[],
  ): Promise<void> {
    const viewer = viewerOf(request);
    // A body another parser has read (JSON, a form) is no file; what such a request sends is not read at all.
    const body = request.body instanceof Readable ? request.body : Readable.from([]);
    const declared = request.headers['content-type']?.split(';')[0]?.trim().toLowerCase() ?? 'application/octet-stream';
    try {
      if (!isId(id)) throw notFound('document');
      const command = { documentId: id, name: typeof name === 'string' ? name : '', declared };
      // The scope is asked first: a stranger is told the same whatever is sent.
      const announced = Number(request.headers['content-length'] ?? 0);
      const file = await this.addFile.execute(viewer, command, announced > MAX_FILE_BYTES ? tooLarge() : body);
      const { added, fileId, ...facts } = file;
      await reply.status(added ? 201 : 200).send({ id: fileId, documentId: id, ...facts });
    } catch (error) {
      // A client that is still sending would not read the answer.
      if (!(await drain(body, MAX_FILE_BYTES))) void reply.header('connection', 'close');
      throw error;
    }
  }

  @Get(':id/files/:fileId')
  @Authorize('document.read')
  async get(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('id') id: string,
    @Param('fileId') fileId: string,
  ): Promise<void> {
    const viewer = viewerOf(request);
    const document = isId(id) ? (await this.documents.findVisible(viewer, [id])).get(id) : undefined;
    if (document === undefined) throw notFound('document');
    const file = document.files.find((one) => one.id === fileId);
    if (file === undefined) throw notFound('file');
    const bytes = await this.blobs.open(file.sha256);
    if (bytes === null) throw unavailable('The file store');
    await reply
      .header('content-type', file.mediaType)
      .header('content-length', file.size)
      .header('content-disposition', attachment(file.fileName))
      .header('x-content-type-options', 'nosniff')
      // Should a browser open it all the same, nothing in it may run.
      .header('content-security-policy', "default-src 'none'; sandbox")
      .header('cache-control', 'private, no-store')
      .send(bytes);
  }
}

/** A body that is refused as soon as somebody begins to read it. */
function tooLarge(): Readable {
  return new Readable({
    read() {
      this.destroy(fileTooLarge());
    },
  });
}

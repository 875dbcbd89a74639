import { Controller, Get, Param, Put, Query, Req, Res } from '@nestjs/common';
import { RouteConfig } from '@nestjs/platform-fastify';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { isId, notFound } from '../../kernel/index.js';
import { viewerOf } from '../../platform/auth/index.js';
import { BlobStore } from '../../platform/blobs/index.js';
import { Authorize } from '../../platform/graphql/index.js';
import { sendFile, withUpload } from '../../platform/uploads/index.js';
import { AddFile } from '../app/add-file.js';
import { DOCUMENT_FILES } from '../app/document-files.js';
import { DocumentReadStore } from '../store/document-read.store.js';

/** Files of holding documents: sent as the bytes they are, given back as downloads. */
@Controller('documents')
export class DocumentFilesController {
  constructor(
    private readonly addFile: AddFile,
    private readonly documents: DocumentReadStore,
    private readonly blobs: BlobStore,
  ) {}

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
    const file = await withUpload(request, reply, DOCUMENT_FILES, async (declared, source) => {
      if (!isId(id)) throw notFound('document');
      const command = { documentId: id, name: typeof name === 'string' ? name : '', declared };
      return this.addFile.execute(viewer, command, source);
    });
    const { added, fileId, ...facts } = file;
    await reply.status(added ? 201 : 200).send({ id: fileId, documentId: id, ...facts });
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
    await sendFile(reply, this.blobs, file);
  }
}

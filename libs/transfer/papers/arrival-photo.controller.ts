import { Controller, Get, Param, Req, Res } from '@nestjs/common';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { isId, notFound } from '../../kernel/index.js';
import { viewerOf } from '../../platform/auth/index.js';
import { BlobStore } from '../../platform/blobs/index.js';
import { Authorize } from '../../platform/graphql/index.js';
import { sendFile } from '../../platform/uploads/index.js';
import { TransferStore } from '../store/transfer.store.js';

/** Pictures of how animals arrived, for both parties: the giver reads of the animal itself only what came before. */
@Controller('transfers')
export class ArrivalPhotoController {
  constructor(
    private readonly transfers: TransferStore,
    private readonly blobs: BlobStore,
  ) {}

  /** The cleaned copy; the original stays with the receiver. A picture that was withdrawn is not found. */
  @Get(':id/arrival-photos/:fileId')
  @Authorize('transfer.read')
  async photo(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('id') id: string,
    @Param('fileId') fileId: string,
  ): Promise<void> {
    if (!isId(id)) throw notFound('transfer');
    const { transfer } = await this.transfers.getVisible(viewerOf(request), id);
    const isOne = transfer.items.some(({ photoFileIds }) => photoFileIds.includes(fileId));
    const picture = isOne ? await this.transfers.findPicture(fileId) : null;
    if (picture === null) throw notFound('file');
    await sendFile(reply, this.blobs, { ...picture, mediaType: 'image/jpeg', fileName: `${fileId}.jpg` });
  }
}

import { Controller, Get, Param, Req, Res } from '@nestjs/common';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { isId, notFound } from '../../kernel/index.js';
import { viewerOf } from '../../platform/auth/index.js';
import { Authorize, Public } from '../../platform/graphql/index.js';
import { PackArchive } from './pack-archive.js';
import { ReadRecordPack } from './read-record-pack.js';
import { type RecordPack, recordPackJsonSchema } from './record-pack.schema.js';

/** The record pack: what is on record of animals, as an archive for those who read it, and the published form of it. */
@Controller()
export class RecordPackController {
  constructor(
    private readonly packs: ReadRecordPack,
    private readonly archive: PackArchive,
  ) {}

  @Get('animals/:id/record.zip')
  @Authorize('exchange.take-record')
  async ofAnimal(@Req() request: FastifyRequest, @Res() reply: FastifyReply, @Param('id') id: string): Promise<void> {
    const viewer = viewerOf(request);
    if (!isId(id)) throw notFound('animal');
    await this.send(reply, await this.packs.ofAnimal(viewer, id));
  }

  @Get('transfers/:id/record.zip')
  @Authorize('exchange.take-record')
  async ofTransfer(@Req() request: FastifyRequest, @Res() reply: FastifyReply, @Param('id') id: string): Promise<void> {
    const viewer = viewerOf(request);
    if (!isId(id)) throw notFound('transfer');
    await this.send(reply, await this.packs.ofTransfer(viewer, id));
  }

  @Get('schemas/record-pack-1.json')
  @Public('The form of a pack is for whoever receives one; it holds no records.')
  async schema(@Res() reply: FastifyReply): Promise<void> {
    await reply
      .header('content-type', 'application/schema+json; charset=utf-8')
      .send(JSON.stringify(recordPackJsonSchema(), null, 2));
  }

  private async send(reply: FastifyReply, pack: RecordPack): Promise<void> {
    const archive = await this.archive.write(pack);
    await reply
      .header('content-type', 'application/zip')
      .header('content-disposition', `attachment; filename="${fileName(pack)}"`)
      .header('x-content-type-options', 'nosniff')
      .header('cache-control', 'private, no-store')
      .send(archive);
  }
}

/** Told apart in a folder of downloads by the first animal's number, which is no secret of whoever reads the pack. */
function fileName({ animals: [first, ...others] }: RecordPack): string {
  const more = others.length === 0 ? '' : `-and-${others.length}-more`;
  return `record-${first?.registerNumber ?? 'eggs'}${more}.zip`;
}

import { Controller, Get, Param, Req, Res } from '@nestjs/common';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import QRCode from 'qrcode';
import { isId, notFound } from '../../kernel/index.js';
import { viewerOf } from '../../platform/auth/index.js';
import { Clock } from '../../platform/clock.js';
import { Authorize } from '../../platform/graphql/index.js';
import { OpenHandOver } from './open-hand-over.js';

/** The code of a hand-over as a square that the receiver's device reads off the giver's. */
@Controller('transfers')
export class HandOverCodeController {
  constructor(
    private readonly handOvers: OpenHandOver,
    private readonly clock: Clock,
  ) {}

  @Get(':id/hand-over.svg')
  @Authorize('transfer.hand-over')
  async svg(@Req() request: FastifyRequest, @Res() reply: FastifyReply, @Param('id') id: string): Promise<void> {
    const picture = await QRCode.toString(await this.codeOf(request, id), { type: 'svg' });
    await answer(reply, 'image/svg+xml', picture);
  }

  @Get(':id/hand-over.png')
  @Authorize('transfer.hand-over')
  async png(@Req() request: FastifyRequest, @Res() reply: FastifyReply, @Param('id') id: string): Promise<void> {
    const picture = await QRCode.toBuffer(await this.codeOf(request, id), { type: 'png', width: 400 });
    await answer(reply, 'image/png', picture);
  }

  private async codeOf(request: FastifyRequest, id: string): Promise<string> {
    const code = isId(id) ? await this.handOvers.readCode(viewerOf(request), id, this.clock.now()) : null;
    if (code === null) throw notFound('open hand-over');
    return code;
  }
}

/** No cache on the way keeps it. */
async function answer(reply: FastifyReply, type: string, picture: string | Buffer): Promise<void> {
  await reply.header('content-type', type).header('cache-control', 'no-store').send(picture);
}

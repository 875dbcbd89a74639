import { Controller, Get, Param, Query, Req, Res } from '@nestjs/common';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { z } from 'zod';
import { notFound } from '../../kernel/index.js';
import { viewerOf } from '../../platform/auth/index.js';
import { Clock } from '../../platform/clock.js';
import { Authorize } from '../../platform/graphql/index.js';
import { drawRecordPaper } from './record-paper.pdf.js';
import { PrintRecord } from './print-record.js';

const transferId = z.uuid();

/** The record of a transfer's animals on paper, for its two parties. */
@Controller('transfers')
export class RecordPaperController {
  constructor(
    private readonly print: PrintRecord,
    private readonly clock: Clock,
  ) {}

  /** `?showGiver=1` puts the giver's name on it; the giver alone may ask for that. */
  @Get(':id/record.pdf')
  @Authorize('transfer.print-record')
  async recordPdf(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('id') id: string,
    @Query('showGiver') showGiver?: string,
  ): Promise<void> {
    const viewer = viewerOf(request);
    if (!transferId.safeParse(id).success) throw notFound('transfer');
    const sheet = await this.print.execute(viewer, {
      transferId: id,
      showGiver: showGiver === '1',
      today: this.clock.today(),
    });
    const pdf = await drawRecordPaper(sheet);
    await reply
      .header('content-type', 'application/pdf')
      .header('content-disposition', 'inline; filename="animal-record.pdf"')
      // It may carry the claim code: no cache on the way keeps it.
      .header('cache-control', 'no-store')
      .send(pdf);
  }
}

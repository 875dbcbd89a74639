import { Readable } from 'node:stream';
import { Controller, Get, Param, Put, Query, Req, Res } from '@nestjs/common';
import { RouteConfig } from '@nestjs/platform-fastify';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { invalidInput, isId, notFound } from '../../kernel/index.js';
import { viewerOf } from '../../platform/auth/index.js';
import { Authorize, Public } from '../../platform/graphql/index.js';
import { ReadRecordPack } from './read-record-pack.js';
import { RegisterFromPack } from './register-from-pack.js';
import { recordPackJsonSchema } from './record-pack.schema.js';

/** The record of a transfer's animals as a file for another registry, and the published form of it. */
@Controller()
export class RecordPackController {
  constructor(
    private readonly packs: ReadRecordPack,
    private readonly registerFromPack: RegisterFromPack,
  ) {}

  @Get('transfers/:id/record.json')
  @Authorize('transfer.print-record')
  async record(@Req() request: FastifyRequest, @Res() reply: FastifyReply, @Param('id') id: string): Promise<void> {
    const viewer = viewerOf(request);
    if (!isId(id)) throw notFound('transfer');
    const pack = await this.packs.execute(viewer, id);
    await reply
      .header('content-type', 'application/json; charset=utf-8')
      .header('content-disposition', 'attachment; filename="animal-record.json"')
      .header('cache-control', 'no-store')
      .send(JSON.stringify(pack, null, 2));
  }

  @Get('record-pack.schema.json')
  @Public('The form of a pack is for whoever receives one; it holds no records.')
  async schema(@Res() reply: FastifyReply): Promise<void> {
    await reply
      .header('content-type', 'application/schema+json; charset=utf-8')
      .send(JSON.stringify(recordPackJsonSchema(), null, 2));
  }

  /** `?keeperId=` names the own keeper. The body is the pack, at most 2 MB; above 256 kB send it as `application/octet-stream`. */
  @Put('record-packs')
  @RouteConfig({ rawBody: true })
  @Authorize('animal.register')
  async register(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Query('keeperId') keeperId?: string | string[],
  ): Promise<void> {
    const viewer = viewerOf(request);
    const sent: unknown = request.body;
    const input = sent instanceof Readable ? await readJson(sent) : sent;
    if (typeof keeperId !== 'string' || !isId(keeperId)) throw notFound('keeper');
    await reply.status(201).send(await this.registerFromPack.execute(viewer, keeperId, input));
  }
}

/** Largest pack in bytes. */
const PACK_LIMIT = 2 * 1024 * 1024;

async function readJson(source: Readable): Promise<unknown> {
  const wrong = (message: string, remedy: string) => invalidInput([{ path: 'pack', message, remedy }]);
  const chunks: Buffer[] = [];
  let size = 0;
  for await (const chunk of source as AsyncIterable<Buffer>) {
    size += chunk.length;
    if (size <= PACK_LIMIT) chunks.push(chunk);
    else chunks.length = 0;
  }
  if (size > PACK_LIMIT) throw wrong('The pack is larger than 2 MB.', 'Hand the animals over in several transfers.');
  try {
    return JSON.parse(Buffer.concat(chunks).toString('utf8')) as unknown;
  } catch {
    throw wrong('This is not JSON.', 'Send the file as it was downloaded.');
  }
}

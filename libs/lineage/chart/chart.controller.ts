import { Controller, Get, Param, Query, Req, Res } from '@nestjs/common';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { invalidInput } from '../../kernel/index.js';
import { viewerOf } from '../../platform/auth/index.js';
import { Authorize } from '../../platform/graphql/index.js';
import { DrawCharts, MAX_DRAWN } from './draw-charts.js';

/** Generations drawn where none are asked for. */
const USUAL = 4;

/** Charts as pictures, for those who may see the animals. */
@Controller()
export class ChartController {
  constructor(private readonly charts: DrawCharts) {}

  /** `:id` is an id or a register number; `?generations=` is 1 to 6, 4 when left out. */
  @Get('animals/:id/pedigree.svg')
  @Authorize('lineage.draw-pedigree')
  async pedigree(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('id') id: string,
    @Query('generations') generations?: string | string[],
  ): Promise<void> {
    const viewer = viewerOf(request);
    await send(reply, 'pedigree', await this.charts.pedigree(viewer, id, toGenerations(generations)));
  }

  /** `?animals=` names 2 to 60 animals of one taxon by id or register number, parted by commas. */
  @Get('kinship.svg')
  @Authorize('lineage.read-relationship')
  async kinship(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Query('animals') animals?: string | string[],
  ): Promise<void> {
    const viewer = viewerOf(request);
    const names = [animals ?? []].flat().flatMap((list) => list.split(','));
    const named = names.map((name) => name.trim()).filter((name) => name !== '');
    await send(reply, 'kinship', await this.charts.kinshipMap(viewer, named));
  }
}

function toGenerations(text: string | string[] | undefined): number {
  if (text === undefined || text === '') return USUAL;
  const generations = typeof text === 'string' && /^\d$/.test(text) ? Number(text) : 0;
  if (generations >= 1 && generations <= MAX_DRAWN) return generations;
  throw invalidInput([
    {
      path: 'generations',
      message: `A pedigree is drawn over 1 to ${MAX_DRAWN} generations.`,
      remedy: `Write a whole number from 1 to ${MAX_DRAWN}.`,
    },
  ]);
}

async function send(reply: FastifyReply, name: string, svg: string): Promise<void> {
  await reply
    .header('content-type', 'image/svg+xml; charset=utf-8')
    .header('content-disposition', `inline; filename="${name}.svg"`)
    .header('x-content-type-options', 'nosniff')
    // Names in it were written by people: should one get through as more than text, nothing may run or be fetched.
    .header('content-security-policy', "default-src 'none'; sandbox")
    .header('cache-control', 'private, no-store')
    .send(svg);
}

import { Controller, Get, Param, Res } from '@nestjs/common';
import { type FastifyReply } from 'fastify';
import { dayOf, formatRegisterNumber, type RegisterNumber } from '../../kernel/index.js';
import { Public } from '../../platform/graphql/index.js';
import { noPaperPage, type PageAnimal, paperPage } from './paper-page.core.js';
import { parseSpokenCode } from '../hand-over/spoken-code.core.js';
import { RecordPaperStore } from './record-paper.store.js';
import { paperContent } from './paper-content.schema.js';

/** The page behind the square on a paper: what may be shown to whoever holds it. */
@Controller('papers')
export class PaperPageController {
  constructor(private readonly papers: RecordPaperStore) {}

  @Get(':code')
  @Public('Whoever holds the paper has its code, which cannot be guessed; the page shows little and no people.')
  async page(@Param('code') code: string, @Res() reply: FastifyReply): Promise<void> {
    const html = await this.find(code);
    await reply
      .status(html === null ? 404 : 200)
      .header('content-type', 'text/html; charset=utf-8')
      .header('x-robots-tag', 'noindex, nofollow')
      .header('cache-control', 'no-store')
      .send(html ?? noPaperPage());
  }

  private async find(code: string): Promise<string | null> {
    const checkCode = parseSpokenCode(code);
    const stored = checkCode === null ? null : await this.papers.findByCheckCode(checkCode);
    if (stored === null) return null;
    const { animals, eggs = [] } = paperContent.parse(stored.content);
    const ids = animals.map((animal) => animal.animalId);
    const [now, parents] = [await this.papers.findNow(ids), await this.papers.findParents(ids)];
    const shown = animals.flatMap((paper): PageAnimal[] => {
      const record = now.get(paper.animalId);
      if (record === undefined) return [];
      const numbers = (role: 'sire' | 'dam'): string[] =>
        parents
          .filter((parent) => parent.childId === paper.animalId && parent.role === role && parent.supersededAt === null)
          .map((parent) => formatRegisterNumber(parent.registerNumber as RegisterNumber));
      return [{ paper, now: { ...record, sires: numbers('sire'), dams: numbers('dam') } }];
    });
    const eggsNow = await this.papers.findEggsNow(eggs);
    const clutches = eggs.map((paper) => ({ paper, now: eggsNow.get(paper.clutchId) ?? null }));
    return paperPage(dayOf(stored.issuedAt), shown, clutches);
  }
}

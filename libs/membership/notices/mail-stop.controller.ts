import { Controller, Get, Param, Post, Req, Res } from '@nestjs/common';
import { RouteConfig } from '@nestjs/platform-fastify';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { Public } from '../../platform/graphql/index.js';
import { ChooseMails } from './choose-mails.js';
import { askToStopPage, noStopPage, stoppedPage } from './mail-stop-page.core.js';
import { StopLinks } from './stop-links.js';

const WHY = 'Whoever reads the mail has its code, which cannot be guessed and ends mails of one group, nothing else.';

/** The link in a mail that ends more of its kind: a page with a button, and RFC 8058’s one click, which is the same POST. */
@Controller('mails')
export class MailStopController {
  constructor(
    private readonly links: StopLinks,
    private readonly choose: ChooseMails,
  ) {}

  @Get('stop/:code')
  @Public(WHY)
  async ask(@Param('code') code: string, @Res() reply: FastifyReply): Promise<void> {
    const scope = this.links.read(code);
    await answer(reply, scope === null ? 404 : 200, scope === null ? noStopPage() : askToStopPage(scope.stops));
  }

  /** The body is not read: the code says everything. Mail programs send it as a form, of either kind. */
  @Post('stop/:code')
  @RouteConfig({ rawBody: true })
  @Public(WHY)
  async stop(@Param('code') code: string, @Req() request: FastifyRequest, @Res() reply: FastifyReply): Promise<void> {
    const scope = this.links.read(code);
    if (scope !== null) await this.choose.stop(scope, request.id);
    await answer(reply, scope === null ? 404 : 200, scope === null ? noStopPage() : stoppedPage(scope.stops));
  }
}

async function answer(reply: FastifyReply, status: number, html: string): Promise<void> {
  await reply
    .status(status)
    .header('content-type', 'text/html; charset=utf-8')
    .header('x-robots-tag', 'noindex, nofollow')
    .header('referrer-policy', 'no-referrer')
    .header('cache-control', 'no-store')
    .send(html);
}

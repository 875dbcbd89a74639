import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { MAIL_PACES, NOTICE_GROUPS } from './notice-group.core.js';
import { endDaily, saveChoices } from './mail-choice.store.js';
import { type StopScope } from './stop-links.js';

const choice = z.strictObject({ group: z.enum(NOTICE_GROUPS), pace: z.enum(MAIL_PACES) });

/** How the own account wants to be mailed about some groups of notices; the others stay as they are. */
export const chooseMailsCommand = z.object({
  choices: z
    .array(z.object(choice.shape))
    .min(1, 'Nothing is chosen. | Name at least one group.')
    .max(NOTICE_GROUPS.length, 'A group stands there twice. | Name each group once.')
    .refine((all) => new Set(all.map(({ group }) => group)).size === all.length, {
      message: 'A group stands there twice. | Name each group once.',
    }),
});

const mailsChosen = defineLedgerAction(
  'account.mails-chosen',
  1,
  z.strictObject({ accountId: z.uuid(), choices: z.array(choice), by: z.enum(['account', 'link']) }),
);

/** Says by which mails an account hears of its notices. The notices themselves stay in the registry. */
@Injectable()
export class ChooseMails {
  constructor(private readonly uow: UnitOfWork) {}

  async execute(viewer: Viewer, command: z.infer<typeof chooseMailsCommand>): Promise<{ accountId: string }> {
    const { accountId } = viewer;
    const outcome = z.object({ accountId: z.uuid() });
    return this.uow.write(viewer, { action: 'membership.choose-mails', input: command, outcome }, async (tx) => {
      await saveChoices(tx, accountId, command.choices);
      const body = { accountId, choices: command.choices, by: 'account' as const };
      await tx.ledger.append(mailsChosen, { subjects: [accountId], body });
      return decide({ accountId });
    });
  }

  /** By the link of a mail: ends the mails of its group, or the daily mail. Done twice it is done once. */
  async stop({ accountId, stops }: StopScope, requestId: string): Promise<void> {
    await this.uow.writeAsServer(requestId, async (tx) => {
      const known = await tx.db.account.findUnique({ where: { id: accountId }, select: { id: true } });
      if (known === null) return decide(null);
      const groups = stops === 'digest' ? await endDaily(tx, accountId) : [stops];
      const choices = groups.map((group) => ({ group, pace: 'none' as const }));
      await saveChoices(tx, accountId, choices);
      if (choices.length === 0) return decide(null);
      const body = { accountId, choices, by: 'link' as const };
      await tx.ledger.append(mailsChosen, { subjects: [accountId], body });
      return decide(null);
    });
  }
}

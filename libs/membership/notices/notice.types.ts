import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type Day, dayOf } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { noticeMail } from './notice-mail.core.js';
import { type Notice } from './notice.store.js';

@ObjectType('Notice', { description: 'Something a keeper should know.' })
export class NoticeType {
  @Field(() => ID)
  id!: string;

  @Field(() => String, { description: 'What it is about, for example `document_expiry`.' })
  kind!: string;

  @Field(() => String, { description: 'In one line.' })
  subject!: string;

  @Field(() => String, { description: 'What it says in full, as JSON; its form follows from `kind`.' })
  body!: string;

  @Field(() => DayType, { nullable: true })
  dueOn!: Day | null;

  @Field(() => Date)
  createdAt!: Date;

  @Field(() => Boolean, { description: 'Whether your account has read it.' })
  read!: boolean;
}

/** A notice as its reader sees it. */
export function toNotice(notice: Notice, read: boolean): NoticeType {
  return {
    ...notice,
    // Said as on the day it was written, like its mail.
    subject: noticeMail(notice, dayOf(notice.createdAt)).subject.replace(/^Kithbook: /, ''),
    body: JSON.stringify(notice.body),
    read,
  };
}

export const NoticeConnection = Connection(NoticeType, 'Notice');

@ObjectType('Mail', { description: 'A mail to the own account. Where no mail server is set up it stays here.' })
export class MailType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  subject!: string;

  @Field(() => String, { description: 'Plain text.' })
  text!: string;

  @Field(() => Date)
  createdAt!: Date;

  @Field(() => Date, { nullable: true, description: 'Null while it waits.' })
  sentAt!: Date | null;
}

export const MailConnection = Connection(MailType, 'Mail');

export enum NoticeGroupType {
  transfers = 'transfers',
  threads = 'threads',
  health = 'health',
  documents = 'documents',
  origins = 'origins',
  membership = 'membership',
  marks = 'marks',
  thefts = 'thefts',
  other = 'other',
}
registerEnumType(NoticeGroupType, {
  name: 'NoticeGroup',
  description: 'Notices that you choose together how to be mailed about.',
});

export enum MailPaceType {
  at_once = 'at_once',
  daily = 'daily',
  none = 'none',
}
registerEnumType(MailPaceType, {
  name: 'MailPace',
  description: 'A mail for each notice, one mail a day at 07:00 UTC for all since the last, or none.',
});

@ObjectType('MailChoice')
export class MailChoiceType {
  @Field(() => NoticeGroupType)
  group!: NoticeGroupType;

  @Field(() => MailPaceType)
  pace!: MailPaceType;
}

@InputType()
export class MailChoiceInput {
  @Field(() => NoticeGroupType)
  group!: NoticeGroupType;

  @Field(() => MailPaceType)
  pace!: MailPaceType;
}

@InputType()
export class ChooseMailsInput {
  @Field(() => [MailChoiceInput], { description: 'Groups that are not named stay as they are.' })
  choices!: MailChoiceInput[];
}

@ObjectType()
export class ChooseMailsPayload {
  @Field(() => [MailChoiceType])
  mailChoices!: MailChoiceType[];
}

@InputType()
export class MarkNoticesReadInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => [ID], { nullable: true, description: 'All notices of the keeper when left out.' })
  noticeIds?: string[] | null;
}

@ObjectType()
export class MarkNoticesReadPayload {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => Int, { description: 'Still unread; 1,000 stands for more.' })
  unread!: number;
}

@ObjectType('NoticeArrival')
export class NoticeArrivalType {
  @Field(() => ID, { nullable: true })
  keeperId!: string | null;

  @Field(() => NoticeType, {
    nullable: true,
    description: 'The newest notice of the keeper. Null: some may have been missed; read the lists again.',
  })
  notice!: NoticeType | null;

  @Field(() => Int, { nullable: true, description: 'Unread notices of the keeper; 1,000 stands for more.' })
  unread!: number | null;
}

import { Field, ID, ObjectType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';

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

import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { Connection } from '../../platform/graphql/index.js';
import { otherSideLabel } from '../core/thread.core.js';
import { type ThreadView } from '../store/thread-read.store.js';

export enum ThreadSideType {
  asker = 'asker',
  holder = 'holder',
}
registerEnumType(ThreadSideType, { name: 'ThreadSide', description: 'Who asked, and who had the animal then.' });

@ObjectType('ThreadMessage')
export class ThreadMessageType {
  @Field(() => ID)
  id!: string;

  @Field(() => Boolean, { description: 'Written by your side.' })
  mine!: boolean;

  @Field(() => String)
  text!: string;

  @Field(() => Date)
  sentAt!: Date;
}

export const ThreadMessageConnection = Connection(ThreadMessageType, 'ThreadMessage');

@ObjectType('Thread', {
  description:
    'A keeper asks whoever has an animal. Neither learns who the other is until the one who was asked shows both names. It stays with the keeper who had the animal when it began.',
})
export class ThreadType {
  @Field(() => ID)
  id!: string;

  @Field(() => ThreadSideType, { description: 'The side you are on.' })
  side!: ThreadSideType;

  @Field(() => String, { description: 'The other side: a name once both are shown, before that “A keeper”.' })
  other!: string;

  @Field(() => ID, { nullable: true, description: 'The other side’s keeper, once both names are shown.' })
  otherKeeperId!: string | null;

  @Field(() => Boolean, { description: 'Both names are shown.' })
  revealed!: boolean;

  @Field(() => Date)
  openedAt!: Date;

  @Field(() => Date)
  lastMessageAt!: Date;

  @Field(() => Date, { nullable: true })
  closedAt!: Date | null;

  @Field(() => ThreadSideType, { nullable: true })
  closedBy!: ThreadSideType | null;

  @Field(() => Int, { description: 'Messages of the other side that you have not read.' })
  unread!: number;

  /** Not part of the schema: what the field resolvers work from. */
  view!: ThreadView;
}

export const ThreadConnection = Connection(ThreadType, 'Thread');

@InputType()
export class AskHolderInput {
  @Field(() => ID, { description: 'The animal whose holder is asked; any that you see.' })
  animalId!: string;

  @Field(() => ID, {
    nullable: true,
    description: 'Your own animal that it is about. The other side is shown it once both names are shown.',
  })
  aboutAnimalId?: string | null;

  @Field(() => ID, { nullable: true, description: 'The keeper of yours who asks; needed where you act for several.' })
  keeperId?: string | null;

  @Field(() => String, { description: 'Up to 2,000 characters. What you write about yourself is told.' })
  message!: string;
}

@InputType()
export class AnswerThreadInput {
  @Field(() => ID)
  threadId!: string;

  @Field(() => String, { description: 'Up to 2,000 characters. What you write about yourself is told.' })
  message!: string;

  @Field(() => Boolean, {
    nullable: true,
    description: 'For the keeper who was asked: shows both names to each other. It cannot be taken back.',
  })
  reveal?: boolean | null;
}

@InputType()
export class CloseThreadInput {
  @Field(() => ID)
  threadId!: string;
}

@InputType()
export class MarkThreadReadInput {
  @Field(() => ID)
  threadId!: string;
}

@ObjectType()
export class AskHolderPayload {
  @Field(() => ThreadType)
  thread!: ThreadType;
}

@ObjectType()
export class AnswerThreadPayload {
  @Field(() => ThreadType)
  thread!: ThreadType;
}

@ObjectType()
export class CloseThreadPayload {
  @Field(() => ThreadType)
  thread!: ThreadType;
}

@ObjectType()
export class MarkThreadReadPayload {
  @Field(() => ThreadType)
  thread!: ThreadType;
}

/** A thread as its side reads it. */
export function toThread(view: ThreadView): ThreadType {
  return {
    id: view.id,
    side: ThreadSideType[view.side],
    other: otherSideLabel(view.side, view.otherName, view.sameClub),
    otherKeeperId: view.otherKeeperId,
    revealed: view.revealedAt !== null,
    openedAt: view.openedAt,
    lastMessageAt: view.lastMessageAt,
    closedAt: view.closedAt,
    closedBy: view.closedBy === null ? null : ThreadSideType[view.closedBy],
    unread: view.unread,
    view,
  };
}

import { type Decision, decide, refuse } from '../../kernel/index.js';

/** The two sides of a thread. */
export type ThreadSide = 'asker' | 'holder';

/** Longest message, in characters. */
export const MAX_MESSAGE = 2000;
/** Most threads a keeper opens in a day. */
export const MAX_THREADS_A_DAY = 20;
/** Most messages of a thread. */
export const MAX_MESSAGES = 500;
/** Most messages of an asker that stand without an answer. */
export const MAX_UNANSWERED = 3;
/** Days after which a keeper may ask about an animal again when the other side closed the thread. */
export const DAYS_CLOSED = 30;

/** Fewest members of a club for which the other side is called one of them: in a smaller one that would name it. */
export const FEWEST_MEMBERS = 5;

/** What decides what can be done in a thread. */
export type ThreadState = {
  readonly closed: boolean;
  readonly revealed: boolean;
  readonly messages: number;
  /** Messages of the asker since the holder's last. */
  readonly unanswered: number;
};

/** A message as decided: whether it shows both names. */
export type MessagePlan = { readonly reveal: boolean };

/** Whether a side may write now. Only the holder shows the names: by asking, the asker has agreed to be named. */
export function decideMessage(thread: ThreadState, side: ThreadSide, reveal: boolean): Decision<MessagePlan> {
  if (thread.closed) return refuse('THREAD_CLOSED', 'The thread is closed. Nothing more can be written in it.');
  if (reveal && side === 'asker')
    return refuse('THREAD_HOLDER_REVEALS', 'Names are shown by the keeper who was asked. Send the message without it.');
  if (thread.messages >= MAX_MESSAGES)
    return refuse('THREAD_FULL', `A thread holds ${MAX_MESSAGES} messages. Close it and begin another.`);
  if (side === 'asker' && thread.unanswered >= MAX_UNANSWERED)
    return refuse(
      'THREAD_AWAITS_ANSWER',
      `${MAX_UNANSWERED} of your messages wait for an answer. Wait for it, or close the thread.`,
    );
  return decide({ reveal: reveal && !thread.revealed });
}

/** Whether a thread can be closed: by either side, once. */
export function decideClose(thread: Pick<ThreadState, 'closed'>): Decision<null> {
  return thread.closed ? refuse('THREAD_CLOSED', 'The thread is closed already.') : decide(null);
}

/**
 * How the other side is called: by name once the holder has shown both names; before that by nothing that tells who it is,
 * not even to a viewer who could guess. `sameClub` is whether the two share a club
 * of FEWEST_MEMBERS or more today.
 */
export function otherSideLabel(side: ThreadSide, name: string | null, sameClub: boolean): string {
  if (name !== null) return name;
  if (side === 'asker') return 'A keeper';
  return sameClub ? 'A keeper of your club' : 'A keeper who sees this animal';
}

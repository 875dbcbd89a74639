-- How an account is mailed about notices, what it has read of them, and the announcements that live queries listen to.
-- Lock cost: ACCESS EXCLUSIVE on mail_message for an instant (a nullable column, and one with a constant default); the triggers take
-- a short exclusive lock on transfer, ask_thread, notice and session, which waits for writers under way. The rest is new.

-- CreateEnum
CREATE TYPE "notice_group" AS ENUM ('transfers', 'threads', 'health', 'documents', 'origins', 'membership', 'marks', 'thefts', 'other');

-- CreateEnum
CREATE TYPE "mail_pace" AS ENUM ('at_once', 'daily', 'none');

-- AlterTable
ALTER TABLE "mail_message" ADD COLUMN     "digest" BOOLEAN NOT NULL DEFAULT false,
ADD COLUMN     "notice_group" "notice_group";

-- CreateTable
CREATE TABLE "mail_choice" (
    "account_id" UUID NOT NULL,
    "notice_group" "notice_group" NOT NULL,
    "pace" "mail_pace" NOT NULL,

    CONSTRAINT "mail_choice_pkey" PRIMARY KEY ("account_id","notice_group")
);

-- CreateTable
CREATE TABLE "digest_item" (
    "account_id" UUID NOT NULL,
    "notice_id" UUID NOT NULL,

    CONSTRAINT "digest_item_pkey" PRIMARY KEY ("account_id","notice_id")
);

-- CreateTable
CREATE TABLE "notice_read" (
    "account_id" UUID NOT NULL,
    "notice_id" UUID NOT NULL,
    "read_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "notice_read_pkey" PRIMARY KEY ("account_id","notice_id")
);

-- CreateIndex
CREATE INDEX "digest_item_notice_id_idx" ON "digest_item"("notice_id");

-- CreateIndex
CREATE INDEX "notice_read_notice_id_idx" ON "notice_read"("notice_id");

-- AddForeignKey
ALTER TABLE "mail_choice" ADD CONSTRAINT "mail_choice_account_id_fkey" FOREIGN KEY ("account_id") REFERENCES "account"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "digest_item" ADD CONSTRAINT "digest_item_account_id_fkey" FOREIGN KEY ("account_id") REFERENCES "account"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "digest_item" ADD CONSTRAINT "digest_item_notice_id_fkey" FOREIGN KEY ("notice_id") REFERENCES "notice"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "notice_read" ADD CONSTRAINT "notice_read_account_id_fkey" FOREIGN KEY ("account_id") REFERENCES "account"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "notice_read" ADD CONSTRAINT "notice_read_notice_id_fkey" FOREIGN KEY ("notice_id") REFERENCES "notice"("id") ON DELETE CASCADE ON UPDATE CASCADE;

-- Hand-written part

ALTER TABLE "mail_message" ADD CONSTRAINT mail_message_one_stop CHECK (NOT digest OR notice_group IS NULL);

-- Announced on commit, and only then, to every process that listens (docs/adr/0011): what changed and whose it is, ids only. What a
-- listener may see of it is decided when it is read again.
CREATE FUNCTION announce(about text, id uuid, keepers uuid[]) RETURNS void LANGUAGE sql AS $$
  SELECT pg_notify('kithbook_live', json_build_object('about', about, 'id', id, 'keepers', array_remove(keepers, NULL))::text)
$$;

CREATE FUNCTION announce_transfer() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM announce('transfer', NEW.id, ARRAY[NEW.from_keeper_id, NEW.to_keeper_id]);
  RETURN NULL;
END $$;
CREATE TRIGGER announce_change AFTER INSERT OR UPDATE ON "transfer" FOR EACH ROW EXECUTE FUNCTION announce_transfer();

CREATE FUNCTION announce_thread() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM announce('thread', NEW.id, ARRAY[NEW.asker_keeper_id, NEW.holder_keeper_id]);
  RETURN NULL;
END $$;
CREATE TRIGGER announce_opened AFTER INSERT ON "ask_thread" FOR EACH ROW EXECUTE FUNCTION announce_thread();
-- Not when one side has read: the other does not learn of that.
CREATE TRIGGER announce_change AFTER UPDATE ON "ask_thread" FOR EACH ROW
  WHEN ((OLD.last_message_at, OLD.revealed_at, OLD.closed_at) IS DISTINCT FROM (NEW.last_message_at, NEW.revealed_at, NEW.closed_at))
  EXECUTE FUNCTION announce_thread();

-- Once a keeper and statement: a nightly check writes thousands of notices at once.
CREATE FUNCTION announce_notices() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM announce('notice', keeper_id, ARRAY[keeper_id]) FROM (SELECT DISTINCT keeper_id FROM written) k;
  RETURN NULL;
END $$;
CREATE TRIGGER announce_written AFTER INSERT ON "notice" REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION announce_notices();

-- A session that is over has its sockets closed.
CREATE FUNCTION announce_session() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM announce('session', OLD.id, ARRAY[]::uuid[]);
  RETURN NULL;
END $$;
CREATE TRIGGER announce_ended AFTER UPDATE ON "session" FOR EACH ROW
  WHEN (OLD.ended_at IS NULL AND NEW.ended_at IS NOT NULL) EXECUTE FUNCTION announce_session();
CREATE TRIGGER announce_removed AFTER DELETE ON "session" FOR EACH ROW EXECUTE FUNCTION announce_session();

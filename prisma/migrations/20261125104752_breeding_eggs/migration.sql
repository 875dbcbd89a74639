-- Clutches with candidate dams, their eggs one by one, pairings that are planned, and more of an enclosure.
-- Lock cost: new columns without rewrite; `original_id` is filled once over the clutches recorded so far, a small table.

CREATE TYPE "enclosure_setting" AS ENUM ('indoor', 'outdoor', 'unknown');
CREATE TYPE "clutch_kind" AS ENUM ('eggs', 'born');
CREATE TYPE "egg_event_kind" AS ENUM ('left_with_parents', 'incubated', 'moved', 'candled', 'infertile', 'failed', 'hatched', 'fate_unknown');
CREATE TYPE "candling_result" AS ENUM ('fertile', 'clear', 'unsure');
CREATE TYPE "pairing_state" AS ENUM ('planned', 'under_way', 'ended', 'dropped');

ALTER TABLE "enclosure" ADD COLUMN "room" TEXT,
ADD COLUMN "setting" "enclosure_setting" NOT NULL DEFAULT 'unknown';

ALTER TABLE "clutch" DROP CONSTRAINT "clutch_dam_id_fkey";
ALTER TABLE "clutch" ADD COLUMN "enclosure_id" UUID,
ADD COLUMN "kind" "clutch_kind" NOT NULL DEFAULT 'eggs',
ADD COLUMN "original_id" UUID,
ALTER COLUMN "dam_id" DROP NOT NULL;

-- The first version of each clutch, found by following the corrections.
WITH RECURSIVE version (id, original_id) AS (
  SELECT id, id FROM "clutch" c WHERE NOT EXISTS (SELECT 1 FROM "clutch" b WHERE b.superseded_by = c.id)
  UNION ALL
  SELECT c.id, v.original_id FROM version v JOIN "clutch" b ON b.id = v.id JOIN "clutch" c ON c.id = b.superseded_by
)
UPDATE "clutch" c SET "original_id" = v.original_id FROM version v WHERE v.id = c.id;
ALTER TABLE "clutch" ALTER COLUMN "original_id" SET NOT NULL;

ALTER TABLE "hatching" ADD COLUMN "egg_id" UUID;

CREATE TABLE "clutch_dam" (
    "clutch_id" UUID NOT NULL,
    "dam_id" UUID NOT NULL,
    "probability" DECIMAL(9,8) NOT NULL,

    CONSTRAINT "clutch_dam_pkey" PRIMARY KEY ("clutch_id","dam_id")
);

CREATE TABLE "egg" (
    "id" UUID NOT NULL,
    "clutch_id" UUID NOT NULL,
    "number" INTEGER NOT NULL,
    "created_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "egg_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "egg_event" (
    "id" UUID NOT NULL,
    "clutch_id" UUID NOT NULL,
    "egg_id" UUID,
    "kind" "egg_event_kind" NOT NULL,
    "enclosure_id" UUID,
    "incubator" TEXT,
    "celsius" DECIMAL(4,1),
    "candling" "candling_result",
    "edtf" TEXT,
    "earliest" DATE,
    "latest" DATE,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "superseded_at" TIMESTAMPTZ(3),
    "superseded_by" UUID,
    "reason" TEXT,

    CONSTRAINT "egg_event_pkey" PRIMARY KEY ("id")
);

CREATE TABLE "pairing" (
    "id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "dam_id" UUID NOT NULL,
    "sire_id" UUID NOT NULL,
    "state" "pairing_state" NOT NULL DEFAULT 'planned',
    "from_day" DATE NOT NULL,
    "until_day" DATE,
    "note" TEXT,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,
    "recorded_by" UUID NOT NULL,
    "changed_at" TIMESTAMPTZ(3) NOT NULL,
    "version" INTEGER NOT NULL DEFAULT 1,

    CONSTRAINT "pairing_pkey" PRIMARY KEY ("id")
);

CREATE INDEX "clutch_dam_dam_id_idx" ON "clutch_dam"("dam_id");
CREATE UNIQUE INDEX "egg_clutch_id_number_key" ON "egg"("clutch_id", "number");
CREATE INDEX "egg_event_clutch_id_idx" ON "egg_event"("clutch_id");
CREATE INDEX "egg_event_egg_id_idx" ON "egg_event"("egg_id");
CREATE INDEX "egg_event_enclosure_id_idx" ON "egg_event"("enclosure_id");
CREATE INDEX "pairing_keeper_id_idx" ON "pairing"("keeper_id");
CREATE INDEX "pairing_dam_id_idx" ON "pairing"("dam_id");
CREATE INDEX "pairing_sire_id_idx" ON "pairing"("sire_id");
CREATE INDEX "clutch_original_id_idx" ON "clutch"("original_id");
CREATE INDEX "clutch_enclosure_id_idx" ON "clutch"("enclosure_id");
CREATE INDEX "clutch_keeper_id_idx" ON "clutch"("keeper_id");
CREATE INDEX "hatching_egg_id_idx" ON "hatching"("egg_id");

ALTER TABLE "clutch" ADD CONSTRAINT "clutch_original_id_fkey" FOREIGN KEY ("original_id") REFERENCES "clutch"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "clutch" ADD CONSTRAINT "clutch_dam_id_fkey" FOREIGN KEY ("dam_id") REFERENCES "animal"("id") ON DELETE SET NULL ON UPDATE CASCADE;
ALTER TABLE "clutch" ADD CONSTRAINT "clutch_enclosure_id_fkey" FOREIGN KEY ("enclosure_id") REFERENCES "enclosure"("id") ON DELETE SET NULL ON UPDATE CASCADE;
ALTER TABLE "clutch_dam" ADD CONSTRAINT "clutch_dam_clutch_id_fkey" FOREIGN KEY ("clutch_id") REFERENCES "clutch"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "clutch_dam" ADD CONSTRAINT "clutch_dam_dam_id_fkey" FOREIGN KEY ("dam_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "egg" ADD CONSTRAINT "egg_clutch_id_fkey" FOREIGN KEY ("clutch_id") REFERENCES "clutch"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "egg_event" ADD CONSTRAINT "egg_event_clutch_id_fkey" FOREIGN KEY ("clutch_id") REFERENCES "clutch"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "egg_event" ADD CONSTRAINT "egg_event_egg_id_fkey" FOREIGN KEY ("egg_id") REFERENCES "egg"("id") ON DELETE SET NULL ON UPDATE CASCADE;
ALTER TABLE "egg_event" ADD CONSTRAINT "egg_event_enclosure_id_fkey" FOREIGN KEY ("enclosure_id") REFERENCES "enclosure"("id") ON DELETE SET NULL ON UPDATE CASCADE;
ALTER TABLE "hatching" ADD CONSTRAINT "hatching_egg_id_fkey" FOREIGN KEY ("egg_id") REFERENCES "egg"("id") ON DELETE SET NULL ON UPDATE CASCADE;
ALTER TABLE "pairing" ADD CONSTRAINT "pairing_dam_id_fkey" FOREIGN KEY ("dam_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "pairing" ADD CONSTRAINT "pairing_sire_id_fkey" FOREIGN KEY ("sire_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
ALTER TABLE "pairing" ADD CONSTRAINT "pairing_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Hand-written part: what Prisma's schema language cannot say.
ALTER TABLE "clutch_dam" ADD CONSTRAINT "clutch_dam_probability" CHECK (probability > 0 AND probability <= 1);
ALTER TABLE "egg" ADD CONSTRAINT "egg_number_positive" CHECK (number > 0);
ALTER TABLE "egg_event" ADD CONSTRAINT "egg_event_day_order" CHECK (earliest <= latest);
ALTER TABLE "egg_event" ADD CONSTRAINT "egg_event_candling" CHECK ((kind = 'candled') = (candling IS NOT NULL));
ALTER TABLE "pairing" ADD CONSTRAINT "pairing_day_order" CHECK (from_day <= until_day);
ALTER TABLE "pairing" ADD CONSTRAINT "pairing_two_animals" CHECK (dam_id <> sire_id);
-- One version of a clutch is in force.
CREATE UNIQUE INDEX "clutch_one_in_force" ON "clutch" ("original_id") WHERE superseded_at IS NULL;

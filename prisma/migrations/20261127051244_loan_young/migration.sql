-- Clutches whose young are divided by the terms of a loan, and who picked which of the young.
-- Lock cost: new tables; writes to animal and clutch wait for the moment in which the references are added.

-- CreateTable
CREATE TABLE "loan_clutch" (
    "clutch_id" UUID NOT NULL,
    "transfer_id" UUID NOT NULL,
    "number" INTEGER NOT NULL,
    "recorded_at" TIMESTAMPTZ(3) NOT NULL,

    CONSTRAINT "loan_clutch_pkey" PRIMARY KEY ("clutch_id")
);

-- CreateTable
CREATE TABLE "loan_young" (
    "animal_id" UUID NOT NULL,
    "clutch_id" UUID NOT NULL,
    "picked_by" "loan_side",
    "pick_number" INTEGER,
    "picked_at" TIMESTAMPTZ(3),

    CONSTRAINT "loan_young_pkey" PRIMARY KEY ("animal_id")
);

-- CreateIndex
CREATE UNIQUE INDEX "loan_clutch_transfer_id_number_key" ON "loan_clutch"("transfer_id", "number");

-- CreateIndex
CREATE UNIQUE INDEX "loan_young_clutch_id_pick_number_key" ON "loan_young"("clutch_id", "pick_number");

-- AddForeignKey
ALTER TABLE "loan_clutch" ADD CONSTRAINT "loan_clutch_clutch_id_fkey" FOREIGN KEY ("clutch_id") REFERENCES "clutch"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "loan_clutch" ADD CONSTRAINT "loan_clutch_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "loan_terms"("transfer_id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "loan_young" ADD CONSTRAINT "loan_young_animal_id_fkey" FOREIGN KEY ("animal_id") REFERENCES "animal"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "loan_young" ADD CONSTRAINT "loan_young_clutch_id_fkey" FOREIGN KEY ("clutch_id") REFERENCES "loan_clutch"("clutch_id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Hand-written part

ALTER TABLE loan_clutch ADD CONSTRAINT loan_clutch_number CHECK (number > 0);
ALTER TABLE loan_young ADD CONSTRAINT loan_young_pick_whole CHECK (
  (picked_by IS NULL) = (pick_number IS NULL) AND (picked_by IS NULL) = (picked_at IS NULL) AND pick_number > 0
);

CREATE TABLE absorber (
    id BIGSERIAL NOT NULL,
    name TEXT COLLATE "C" NOT NULL,
    rating_ml DOUBLE PRECISION NOT NULL,
    is_self_activated BIGINT NOT NULL,
    CONSTRAINT pk_absorber PRIMARY KEY (id),
    CONSTRAINT ck_absorber_rating CHECK (rating_ml > 0),
    CONSTRAINT uq_absorber_name UNIQUE (name)
);

CREATE TABLE bowl (
    id BIGSERIAL NOT NULL,
    name TEXT COLLATE "C" NOT NULL,
    tare_mg BIGINT NOT NULL,
    CONSTRAINT pk_bowl PRIMARY KEY (id),
    CONSTRAINT ck_bowl_tare CHECK (tare_mg >= 0),
    CONSTRAINT uq_bowl_name UNIQUE (name)
);

CREATE TABLE device (
    id BIGSERIAL NOT NULL,
    name TEXT COLLATE "C" NOT NULL,
    token_sha256 TEXT COLLATE "C" NOT NULL,
    paired_at TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_device PRIMARY KEY (id),
    CONSTRAINT uq_device_token_sha256 UNIQUE (token_sha256)
);

CREATE TABLE household (
    id BIGSERIAL NOT NULL,
    name TEXT COLLATE "C" NOT NULL,
    units TEXT COLLATE "C" NOT NULL,
    altitude_m DOUBLE PRECISION NOT NULL,
    time_zone TEXT COLLATE "C" NOT NULL,
    rule_set TEXT COLLATE "C" NOT NULL,
    scale_step_mg BIGINT NOT NULL,
    label_width_mm DOUBLE PRECISION NOT NULL,
    label_height_mm DOUBLE PRECISION NOT NULL,
    label_printer_dpi BIGINT NOT NULL,
    created_at TEXT COLLATE "C" NOT NULL,
    calendar_token TEXT COLLATE "C",
    CONSTRAINT pk_household PRIMARY KEY (id),
    CONSTRAINT ck_household_only_one CHECK (id = 1),
    CONSTRAINT ck_household_altitude CHECK (altitude_m BETWEEN -500 AND 6000),
    CONSTRAINT ck_household_scale_step CHECK (scale_step_mg > 0),
    CONSTRAINT ck_household_units_known CHECK (units IN ('metric', 'us'))
);

CREATE TABLE packaging (
    id BIGSERIAL NOT NULL,
    name TEXT COLLATE "C" NOT NULL,
    kind TEXT COLLATE "C" NOT NULL,
    volume_ml DOUBLE PRECISION NOT NULL,
    area_cm2 DOUBLE PRECISION,
    CONSTRAINT pk_packaging PRIMARY KEY (id),
    CONSTRAINT ck_packaging_volume CHECK (volume_ml > 0),
    CONSTRAINT uq_packaging_name UNIQUE (name)
);

CREATE TABLE pairing_code (
    id BIGSERIAL NOT NULL,
    code_sha256 TEXT COLLATE "C" NOT NULL,
    made_at TEXT COLLATE "C" NOT NULL,
    tries_left BIGINT NOT NULL,
    CONSTRAINT pk_pairing_code PRIMARY KEY (id),
    CONSTRAINT ck_pairing_code_tries_left CHECK (tries_left >= 0)
);

CREATE TABLE person (
    id BIGSERIAL NOT NULL,
    name TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_person PRIMARY KEY (id),
    CONSTRAINT uq_person_name UNIQUE (name)
);

CREATE TABLE place (
    id BIGSERIAL NOT NULL,
    name TEXT COLLATE "C" NOT NULL,
    kind TEXT COLLATE "C" NOT NULL,
    temp_low_c DOUBLE PRECISION NOT NULL,
    temp_c DOUBLE PRECISION NOT NULL,
    temp_high_c DOUBLE PRECISION NOT NULL,
    relative_humidity DOUBLE PRECISION NOT NULL,
    tray_count BIGINT,
    tray_area_m2 DOUBLE PRECISION,
    capacity_ml DOUBLE PRECISION,
    CONSTRAINT pk_place PRIMARY KEY (id),
    CONSTRAINT ck_place_temp_order CHECK (temp_low_c <= temp_c AND temp_c <= temp_high_c),
    CONSTRAINT ck_place_relative_humidity CHECK (relative_humidity BETWEEN 0 AND 1),
    CONSTRAINT ck_place_kind_known CHECK (kind IN ('freezer', 'fridge', 'room', 'bench', 'freeze_dryer', 'dehydrator')),
    CONSTRAINT uq_place_name UNIQUE (name)
);

CREATE TABLE posting_key (
    key TEXT COLLATE "C" NOT NULL,
    location TEXT COLLATE "C" NOT NULL,
    recorded_at TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_posting_key PRIMARY KEY (key)
);

CREATE TABLE source (
    id BIGSERIAL NOT NULL,
    kind TEXT COLLATE "C" NOT NULL,
    name TEXT COLLATE "C" NOT NULL,
    tag TEXT COLLATE "C" NOT NULL,
    from_whom TEXT COLLATE "C" NOT NULL,
    taken_with_lead BIGINT NOT NULL,
    CONSTRAINT pk_source PRIMARY KEY (id),
    CONSTRAINT ck_source_kind_known CHECK (kind IN ('animal', 'plot', 'shop', 'gift', 'unknown'))
);

CREATE TABLE game_story (
    source_id BIGINT NOT NULL,
    ammunition TEXT COLLATE "C" NOT NULL,
    looked_sick BIGINT NOT NULL,
    cwd_status TEXT COLLATE "C" NOT NULL,
    cwd_listed BIGINT,
    hours_to_cold DOUBLE PRECISION,
    centre_c DOUBLE PRECISION,
    taken_at TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_game_story PRIMARY KEY (source_id),
    CONSTRAINT ck_game_story_ammunition_known CHECK (ammunition IN ('lead', 'lead_free', 'not_shot', 'unknown')),
    CONSTRAINT fk_game_story_source_id FOREIGN KEY(source_id) REFERENCES source (id)
);

CREATE TABLE operation (
    id BIGSERIAL NOT NULL,
    kind TEXT COLLATE "C" NOT NULL,
    done_on TEXT COLLATE "C" NOT NULL,
    recorded_at TEXT COLLATE "C" NOT NULL,
    person_id BIGINT,
    note TEXT COLLATE "C" NOT NULL,
    method TEXT COLLATE "C" NOT NULL,
    reverses_id BIGINT,
    CONSTRAINT pk_operation PRIMARY KEY (id),
    CONSTRAINT ck_operation_kind_known CHECK (kind IN ('intake', 'thaw', 'trim', 'grind', 'blend', 'portion', 'cook', 'chill', 'skim', 'drain', 'blanch', 'load', 'unload', 'pack', 'move', 'open', 'measure', 'eat', 'give', 'discard', 'correct', 'hold', 'release', 'incident', 'check', 'climate', 'stocktake')),
    CONSTRAINT fk_operation_person_id FOREIGN KEY(person_id) REFERENCES person (id),
    CONSTRAINT uq_operation_reverses_id UNIQUE (reverses_id),
    CONSTRAINT fk_operation_reverses_id FOREIGN KEY(reverses_id) REFERENCES operation (id)
);

CREATE INDEX ix_operation_done_on ON operation (done_on);

CREATE TABLE trial (
    id BIGSERIAL NOT NULL,
    done_on TEXT COLLATE "C" NOT NULL,
    recorded_at TEXT COLLATE "C" NOT NULL,
    person_id BIGINT,
    note TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_trial PRIMARY KEY (id),
    CONSTRAINT fk_trial_person_id FOREIGN KEY(person_id) REFERENCES person (id)
);

CREATE TABLE addition (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    kind TEXT COLLATE "C" NOT NULL,
    mass_mg BIGINT NOT NULL,
    words TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_addition PRIMARY KEY (id),
    CONSTRAINT ck_addition_mass CHECK (mass_mg > 0),
    CONSTRAINT ck_addition_kind_known CHECK (kind IN ('intake', 'water', 'seasoning', 'found', 'reversed')),
    CONSTRAINT fk_addition_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id)
);

CREATE INDEX ix_addition_operation_id ON addition (operation_id);

CREATE TABLE balance (
    operation_id BIGINT NOT NULL,
    taken_mg BIGINT NOT NULL,
    added_mg BIGINT NOT NULL,
    made_mg BIGINT NOT NULL,
    lost_mg BIGINT NOT NULL,
    CONSTRAINT pk_balance PRIMARY KEY (operation_id),
    CONSTRAINT ck_balance_conserved CHECK (taken_mg + added_mg = made_mg + lost_mg),
    CONSTRAINT ck_balance_signs CHECK (taken_mg >= 0 AND added_mg >= 0 AND made_mg >= 0 AND lost_mg >= 0),
    CONSTRAINT fk_balance_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id)
);

CREATE TABLE climate (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    place_id BIGINT NOT NULL,
    since TEXT COLLATE "C" NOT NULL,
    month BIGINT,
    temp_low_c DOUBLE PRECISION NOT NULL,
    temp_c DOUBLE PRECISION NOT NULL,
    temp_high_c DOUBLE PRECISION NOT NULL,
    relative_humidity DOUBLE PRECISION NOT NULL,
    basis TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_climate PRIMARY KEY (id),
    CONSTRAINT ck_climate_temp_order CHECK (temp_low_c <= temp_c AND temp_c <= temp_high_c),
    CONSTRAINT ck_climate_relative_humidity CHECK (relative_humidity BETWEEN 0 AND 1),
    CONSTRAINT ck_climate_month CHECK (month BETWEEN 1 AND 12),
    CONSTRAINT ck_climate_basis_known CHECK (basis IN ('stated', 'logged')),
    CONSTRAINT fk_climate_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_climate_place_id FOREIGN KEY(place_id) REFERENCES place (id)
);

CREATE INDEX ix_climate_operation_id ON climate (operation_id);

CREATE INDEX ix_climate_place_id ON climate (place_id);

CREATE TABLE incident (
    operation_id BIGINT NOT NULL,
    kind TEXT COLLATE "C" NOT NULL,
    place_id BIGINT,
    from_at TEXT COLLATE "C",
    to_at TEXT COLLATE "C",
    temp_c DOUBLE PRECISION,
    warm_hours DOUBLE PRECISION,
    discard_id BIGINT,
    held_id BIGINT,
    CONSTRAINT pk_incident PRIMARY KEY (operation_id),
    CONSTRAINT ck_incident_from_to CHECK (from_at <= to_at),
    CONSTRAINT ck_incident_warm_hours CHECK (warm_hours >= 0),
    CONSTRAINT ck_incident_kind_known CHECK (kind IN ('power_out', 'door_open', 'thawed', 'left_out', 'kept_warm', 'seal_failed', 'absorber_spent', 'freezer_burn', 'worn')),
    CONSTRAINT fk_incident_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_incident_place_id FOREIGN KEY(place_id) REFERENCES place (id),
    CONSTRAINT fk_incident_discard_id FOREIGN KEY(discard_id) REFERENCES operation (id),
    CONSTRAINT fk_incident_held_id FOREIGN KEY(held_id) REFERENCES operation (id)
);

CREATE INDEX ix_incident_place_id ON incident (place_id);

CREATE TABLE logger_file (
    operation_id BIGINT NOT NULL,
    place_id BIGINT NOT NULL,
    name TEXT COLLATE "C" NOT NULL,
    sha256 TEXT COLLATE "C" NOT NULL,
    reading_count BIGINT NOT NULL,
    gap_count BIGINT NOT NULL,
    CONSTRAINT pk_logger_file PRIMARY KEY (operation_id),
    CONSTRAINT fk_logger_file_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_logger_file_place_id FOREIGN KEY(place_id) REFERENCES place (id)
);

CREATE INDEX ix_logger_file_place_id ON logger_file (place_id);

CREATE TABLE loss (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    kind TEXT COLLATE "C" NOT NULL,
    mass_mg BIGINT NOT NULL,
    words TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_loss PRIMARY KEY (id),
    CONSTRAINT ck_loss_mass CHECK (mass_mg > 0),
    CONSTRAINT ck_loss_kind_known CHECK (kind IN ('trim', 'drip', 'evaporated', 'skimmed', 'spilled', 'stuck', 'unexplained', 'missing', 'eaten', 'given', 'discarded', 'reversed')),
    CONSTRAINT fk_loss_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id)
);

CREATE INDEX ix_loss_operation_id ON loss (operation_id);

CREATE TABLE lot (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    source_id BIGINT,
    name TEXT COLLATE "C" NOT NULL,
    food_ndb TEXT COLLATE "C",
    food_class TEXT COLLATE "C" NOT NULL,
    form TEXT COLLATE "C" NOT NULL,
    is_raw BIGINT NOT NULL,
    harvest_from TEXT COLLATE "C",
    harvest_to TEXT COLLATE "C",
    kept_since TEXT COLLATE "C" NOT NULL,
    water DOUBLE PRECISION NOT NULL,
    protein DOUBLE PRECISION NOT NULL,
    fat DOUBLE PRECISION NOT NULL,
    carbohydrate DOUBLE PRECISION NOT NULL,
    fibre DOUBLE PRECISION NOT NULL,
    ash DOUBLE PRECISION NOT NULL,
    composition_basis TEXT COLLATE "C" NOT NULL,
    water_low DOUBLE PRECISION,
    water_high DOUBLE PRECISION,
    water_is_measured BIGINT NOT NULL,
    fresh_water DOUBLE PRECISION,
    share_used DOUBLE PRECISION NOT NULL,
    wrap TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_lot PRIMARY KEY (id),
    CONSTRAINT ck_lot_water_fraction CHECK (water BETWEEN 0 AND 1),
    CONSTRAINT ck_lot_protein_fraction CHECK (protein BETWEEN 0 AND 1),
    CONSTRAINT ck_lot_fat_fraction CHECK (fat BETWEEN 0 AND 1),
    CONSTRAINT ck_lot_carbohydrate_fraction CHECK (carbohydrate BETWEEN 0 AND 1),
    CONSTRAINT ck_lot_fibre_fraction CHECK (fibre BETWEEN 0 AND 1),
    CONSTRAINT ck_lot_ash_fraction CHECK (ash BETWEEN 0 AND 1),
    CONSTRAINT ck_lot_harvest_order CHECK (harvest_from <= harvest_to),
    CONSTRAINT ck_lot_water_order CHECK (water_low <= water_high),
    CONSTRAINT ck_lot_share_used CHECK (share_used >= 0),
    CONSTRAINT ck_lot_name_length CHECK (length(name) BETWEEN 1 AND 80),
    CONSTRAINT ck_lot_composition_basis_known CHECK (composition_basis IN ('table', 'computed', 'measured')),
    CONSTRAINT fk_lot_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_lot_source_id FOREIGN KEY(source_id) REFERENCES source (id)
);

CREATE INDEX ix_lot_operation_id ON lot (operation_id);

CREATE INDEX ix_lot_source_id ON lot (source_id);

CREATE TABLE place_reading (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    place_id BIGINT NOT NULL,
    at TEXT COLLATE "C" NOT NULL,
    temp_c DOUBLE PRECISION NOT NULL,
    relative_humidity DOUBLE PRECISION,
    typed TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_place_reading PRIMARY KEY (id),
    CONSTRAINT fk_place_reading_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_place_reading_place_id FOREIGN KEY(place_id) REFERENCES place (id)
);

CREATE INDEX ix_place_reading_operation_id ON place_reading (operation_id);

CREATE INDEX ix_place_reading_place_at ON place_reading (place_id, at);

CREATE TABLE run (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    place_id BIGINT NOT NULL,
    started_at TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_run PRIMARY KEY (id),
    CONSTRAINT uq_run_operation_id UNIQUE (operation_id),
    CONSTRAINT fk_run_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_run_place_id FOREIGN KEY(place_id) REFERENCES place (id)
);

CREATE INDEX ix_run_place_id ON run (place_id);

CREATE TABLE weighing (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    ordinal BIGINT NOT NULL,
    bowl TEXT COLLATE "C" NOT NULL,
    gross_mg BIGINT NOT NULL,
    gross_typed TEXT COLLATE "C" NOT NULL,
    tare_mg BIGINT NOT NULL,
    tare_typed TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_weighing PRIMARY KEY (id),
    CONSTRAINT ck_weighing_gross_above_tare CHECK (tare_mg >= 0 AND gross_mg >= tare_mg),
    CONSTRAINT fk_weighing_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id)
);

CREATE INDEX ix_weighing_operation_id ON weighing (operation_id);

CREATE TABLE check_done (
    operation_id BIGINT NOT NULL,
    kind TEXT COLLATE "C" NOT NULL,
    finding TEXT COLLATE "C" NOT NULL,
    lot_id BIGINT,
    place_id BIGINT,
    CONSTRAINT pk_check_done PRIMARY KEY (operation_id),
    CONSTRAINT ck_check_done_kind_known CHECK (kind IN ('seal', 'thermometer', 'look')),
    CONSTRAINT ck_check_done_finding_known CHECK (finding IN ('fine', 'not_fine')),
    CONSTRAINT fk_check_done_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_check_done_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id),
    CONSTRAINT fk_check_done_place_id FOREIGN KEY(place_id) REFERENCES place (id)
);

CREATE INDEX ix_check_done_lot_id ON check_done (lot_id);

CREATE INDEX ix_check_done_place_id ON check_done (place_id);

CREATE TABLE checkpoint (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    rule TEXT COLLATE "C" NOT NULL,
    rule_version TEXT COLLATE "C" NOT NULL,
    outcome TEXT COLLATE "C" NOT NULL,
    sentence TEXT COLLATE "C" NOT NULL,
    reason TEXT COLLATE "C" NOT NULL,
    lot_id BIGINT,
    CONSTRAINT pk_checkpoint PRIMARY KEY (id),
    CONSTRAINT fk_checkpoint_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_checkpoint_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id)
);

CREATE INDEX ix_checkpoint_lot_id ON checkpoint (lot_id);

CREATE INDEX ix_checkpoint_operation_id ON checkpoint (operation_id);

CREATE TABLE flow (
    operation_id BIGINT NOT NULL,
    source_id BIGINT NOT NULL,
    result_id BIGINT NOT NULL,
    mass_mg BIGINT NOT NULL,
    CONSTRAINT pk_flow PRIMARY KEY (operation_id, source_id, result_id),
    CONSTRAINT ck_flow_mass CHECK (mass_mg >= 0),
    CONSTRAINT fk_flow_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_flow_source_id FOREIGN KEY(source_id) REFERENCES lot (id),
    CONSTRAINT fk_flow_result_id FOREIGN KEY(result_id) REFERENCES lot (id)
);

CREATE INDEX ix_flow_result_id ON flow (result_id);

CREATE INDEX ix_flow_source_id ON flow (source_id);

CREATE TABLE hold (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    lot_id BIGINT NOT NULL,
    cause TEXT COLLATE "C" NOT NULL,
    words TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_hold PRIMARY KEY (id),
    CONSTRAINT ck_hold_cause_known CHECK (cause IN ('test_awaited', 'test_positive', 'looked_sick', 'seal_failed', 'recall', 'look_first', 'other')),
    CONSTRAINT fk_hold_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_hold_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id)
);

CREATE INDEX ix_hold_lot_id ON hold (lot_id);

CREATE INDEX ix_hold_operation_id ON hold (operation_id);

CREATE TABLE lot_allergen (
    lot_id BIGINT NOT NULL,
    allergen TEXT COLLATE "C" NOT NULL,
    presence TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_lot_allergen PRIMARY KEY (lot_id, allergen),
    CONSTRAINT ck_lot_allergen_presence_known CHECK (presence IN ('contains', 'may_contain')),
    CONSTRAINT fk_lot_allergen_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id)
);

CREATE TABLE lot_mark (
    lot_id BIGINT NOT NULL,
    mark TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_lot_mark PRIMARY KEY (lot_id, mark),
    CONSTRAINT ck_lot_mark_mark_known CHECK (mark IN ('lead', 'parasite')),
    CONSTRAINT fk_lot_mark_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id)
);

CREATE TABLE lot_treatment (
    lot_id BIGINT NOT NULL,
    treatment TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_lot_treatment PRIMARY KEY (lot_id, treatment),
    CONSTRAINT fk_lot_treatment_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id)
);

CREATE TABLE package (
    id BIGSERIAL NOT NULL,
    lot_id BIGINT NOT NULL,
    number BIGINT NOT NULL,
    of_count BIGINT NOT NULL,
    net_mg BIGINT NOT NULL,
    packaging_id BIGINT NOT NULL,
    absorber_id BIGINT,
    pressure_fraction DOUBLE PRECISION NOT NULL,
    seal_checked BIGINT NOT NULL,
    packed_on TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_package PRIMARY KEY (id),
    CONSTRAINT ck_package_net CHECK (net_mg > 0),
    CONSTRAINT ck_package_number CHECK (number >= 1 AND number <= of_count),
    CONSTRAINT ck_package_pressure_fraction CHECK (pressure_fraction BETWEEN 0 AND 1),
    CONSTRAINT fk_package_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id),
    CONSTRAINT fk_package_packaging_id FOREIGN KEY(packaging_id) REFERENCES packaging (id),
    CONSTRAINT fk_package_absorber_id FOREIGN KEY(absorber_id) REFERENCES absorber (id)
);

CREATE INDEX ix_package_lot_id ON package (lot_id);

CREATE TABLE reading (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    lot_id BIGINT,
    kind TEXT COLLATE "C" NOT NULL,
    hours DOUBLE PRECISION,
    value DOUBLE PRECISION NOT NULL,
    typed TEXT COLLATE "C" NOT NULL,
    measured_by TEXT COLLATE "C",
    spread DOUBLE PRECISION,
    CONSTRAINT pk_reading PRIMARY KEY (id),
    CONSTRAINT ck_reading_measured_by_known CHECK (measured_by IN ('meter', 'oven', 'panel', 'fat_test')),
    CONSTRAINT fk_reading_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_reading_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id)
);

CREATE INDEX ix_reading_lot_id ON reading (lot_id);

CREATE INDEX ix_reading_operation_id ON reading (operation_id);

CREATE TABLE run_end (
    operation_id BIGINT NOT NULL,
    run_id BIGINT NOT NULL,
    CONSTRAINT pk_run_end PRIMARY KEY (operation_id),
    CONSTRAINT fk_run_end_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_run_end_run_id FOREIGN KEY(run_id) REFERENCES run (id)
);

CREATE INDEX ix_run_end_run_id ON run_end (run_id);

CREATE TABLE soaking (
    trial_id BIGINT NOT NULL,
    side BIGINT NOT NULL,
    lot_id BIGINT NOT NULL,
    dry_mg BIGINT NOT NULL,
    water_mg BIGINT NOT NULL,
    drained_mg BIGINT NOT NULL,
    minutes DOUBLE PRECISION NOT NULL,
    temp_c DOUBLE PRECISION NOT NULL,
    score BIGINT,
    dry_water DOUBLE PRECISION NOT NULL,
    fresh_water DOUBLE PRECISION NOT NULL,
    CONSTRAINT pk_soaking PRIMARY KEY (trial_id, side),
    CONSTRAINT ck_soaking_side CHECK (side IN (1, 2)),
    CONSTRAINT ck_soaking_masses CHECK (dry_mg > 0 AND water_mg >= 0 AND drained_mg > 0),
    CONSTRAINT ck_soaking_nothing_from_nowhere CHECK (drained_mg <= dry_mg + water_mg),
    CONSTRAINT ck_soaking_score CHECK (score BETWEEN 1 AND 5),
    CONSTRAINT fk_soaking_trial_id FOREIGN KEY(trial_id) REFERENCES trial (id),
    CONSTRAINT fk_soaking_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id)
);

CREATE INDEX ix_soaking_lot_id ON soaking (lot_id);

CREATE TABLE tray (
    run_id BIGINT NOT NULL,
    number BIGINT NOT NULL,
    lot_id BIGINT NOT NULL,
    gross_mg BIGINT NOT NULL,
    gross_typed TEXT COLLATE "C" NOT NULL,
    tare_mg BIGINT NOT NULL,
    tare_typed TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_tray PRIMARY KEY (run_id, number),
    CONSTRAINT ck_tray_gross_above_tare CHECK (tare_mg >= 0 AND gross_mg > tare_mg),
    CONSTRAINT fk_tray_run_id FOREIGN KEY(run_id) REFERENCES run (id),
    CONSTRAINT fk_tray_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id)
);

CREATE INDEX ix_tray_lot_id ON tray (lot_id);

CREATE TABLE entry (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    lot_id BIGINT NOT NULL,
    package_id BIGINT,
    place_id BIGINT NOT NULL,
    mass_mg BIGINT NOT NULL,
    CONSTRAINT pk_entry PRIMARY KEY (id),
    CONSTRAINT ck_entry_mass CHECK (mass_mg <> 0),
    CONSTRAINT fk_entry_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_entry_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id),
    CONSTRAINT fk_entry_package_id FOREIGN KEY(package_id) REFERENCES package (id),
    CONSTRAINT fk_entry_place_id FOREIGN KEY(place_id) REFERENCES place (id)
);

CREATE INDEX ix_entry_lot_place_package ON entry (lot_id, place_id, package_id);

CREATE INDEX ix_entry_operation_id ON entry (operation_id);

CREATE INDEX ix_entry_package_id ON entry (package_id);

CREATE INDEX ix_entry_place_id ON entry (place_id);

CREATE TABLE incident_lot (
    id BIGSERIAL NOT NULL,
    operation_id BIGINT NOT NULL,
    lot_id BIGINT NOT NULL,
    package_id BIGINT,
    is_icy BIGINT,
    warm_hours DOUBLE PRECISION,
    temp_c DOUBLE PRECISION,
    fate TEXT COLLATE "C" NOT NULL,
    since TEXT COLLATE "C",
    CONSTRAINT pk_incident_lot PRIMARY KEY (id),
    CONSTRAINT ck_incident_lot_warm_hours CHECK (warm_hours >= 0),
    CONSTRAINT ck_incident_lot_fate_known CHECK (fate IN ('refreeze', 'keep', 'look', 'use_now', 'opened', 'worn', 'discard')),
    CONSTRAINT fk_incident_lot_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_incident_lot_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id),
    CONSTRAINT fk_incident_lot_package_id FOREIGN KEY(package_id) REFERENCES package (id)
);

CREATE INDEX ix_incident_lot_lot_id ON incident_lot (lot_id);

CREATE INDEX ix_incident_lot_operation_id ON incident_lot (operation_id);

CREATE INDEX ix_incident_lot_package_id ON incident_lot (package_id);

CREATE TABLE label_print (
    id BIGSERIAL NOT NULL,
    lot_id BIGINT NOT NULL,
    package_id BIGINT,
    printed_on TEXT COLLATE "C" NOT NULL,
    window_words TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_label_print PRIMARY KEY (id),
    CONSTRAINT fk_label_print_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id),
    CONSTRAINT fk_label_print_package_id FOREIGN KEY(package_id) REFERENCES package (id)
);

CREATE INDEX ix_label_print_lot_id ON label_print (lot_id);

CREATE TABLE release (
    operation_id BIGINT NOT NULL,
    hold_id BIGINT NOT NULL,
    cause TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_release PRIMARY KEY (operation_id, hold_id),
    CONSTRAINT ck_release_cause_known CHECK (cause IN ('not_detected', 'looked_fine', 'other')),
    CONSTRAINT fk_release_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id),
    CONSTRAINT fk_release_hold_id FOREIGN KEY(hold_id) REFERENCES hold (id)
);

CREATE INDEX ix_release_hold_id ON release (hold_id);

CREATE TABLE stock (
    id BIGSERIAL NOT NULL,
    lot_id BIGINT NOT NULL,
    package_id BIGINT,
    place_id BIGINT NOT NULL,
    mass_mg BIGINT NOT NULL,
    opened_on TEXT COLLATE "C",
    CONSTRAINT pk_stock PRIMARY KEY (id),
    CONSTRAINT ck_stock_mass CHECK (mass_mg > 0),
    CONSTRAINT fk_stock_lot_id FOREIGN KEY(lot_id) REFERENCES lot (id),
    CONSTRAINT fk_stock_package_id FOREIGN KEY(package_id) REFERENCES package (id),
    CONSTRAINT fk_stock_place_id FOREIGN KEY(place_id) REFERENCES place (id)
);

CREATE INDEX ix_stock_place_id ON stock (place_id);

CREATE UNIQUE INDEX uq_stock_unit ON stock (lot_id, coalesce(package_id, 0), place_id);

CREATE TABLE tray_weighing (
    id BIGSERIAL NOT NULL,
    run_id BIGINT NOT NULL,
    number BIGINT NOT NULL,
    weighed_at TEXT COLLATE "C" NOT NULL,
    gross_mg BIGINT NOT NULL,
    gross_typed TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_tray_weighing PRIMARY KEY (id),
    CONSTRAINT fk_tray_weighing_tray FOREIGN KEY(run_id, number) REFERENCES tray (run_id, number),
    CONSTRAINT ck_tray_weighing_gross CHECK (gross_mg > 0)
);

CREATE INDEX ix_tray_weighing_run_id ON tray_weighing (run_id);

CREATE TABLE estimate (
    stock_id BIGINT NOT NULL,
    key TEXT COLLATE "C" NOT NULL,
    start TEXT COLLATE "C" NOT NULL,
    early TEXT COLLATE "C",
    central TEXT COLLATE "C",
    late TEXT COLLATE "C",
    is_capped BIGINT NOT NULL,
    limit_word TEXT COLLATE "C" NOT NULL,
    payload TEXT COLLATE "C" NOT NULL,
    CONSTRAINT pk_estimate PRIMARY KEY (stock_id),
    CONSTRAINT fk_estimate_stock_id FOREIGN KEY(stock_id) REFERENCES stock (id) ON DELETE CASCADE
);

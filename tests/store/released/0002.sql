--
-- PostgreSQL database dump
--


-- Dumped from database version 15.18 (Debian 15.18-0+deb12u1)
-- Dumped by pg_dump version 15.18 (Debian 15.18-0+deb12u1)

SET statement_timeout = 0;
SET lock_timeout = 0;
SET idle_in_transaction_session_timeout = 0;
SET client_encoding = 'UTF8';
SET standard_conforming_strings = on;
SELECT pg_catalog.set_config('search_path', '', false);
SET check_function_bodies = false;
SET xmloption = content;
SET client_min_messages = warning;
SET row_security = off;

--
-- Name: refuse_log_change(); Type: FUNCTION; Schema: public; Owner: -
--

CREATE FUNCTION public.refuse_log_change() RETURNS trigger
    LANGUAGE plpgsql
    AS $$ BEGIN RAISE EXCEPTION 'the log is only added to'; END $$;


--
-- Name: word_vector(text); Type: FUNCTION; Schema: public; Owner: -
--

CREATE FUNCTION public.word_vector(words text) RETURNS tsvector
    LANGUAGE plpgsql IMMUTABLE STRICT COST 1000
    AS $$ BEGIN RETURN array_to_tsvector(string_to_array(words, ' ')); END $$;


SET default_tablespace = '';

SET default_table_access_method = heap;

--
-- Name: counters; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.counters (
    name text NOT NULL,
    value integer NOT NULL
);


--
-- Name: customer_words; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.customer_words (
    id integer NOT NULL,
    words text NOT NULL
);


--
-- Name: customers; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.customers (
    id integer NOT NULL,
    version integer NOT NULL,
    name text NOT NULL,
    name_key text NOT NULL COLLATE pg_catalog."C",
    writes_by text NOT NULL,
    notes text NOT NULL,
    consent text NOT NULL,
    opened_at text NOT NULL,
    erased_at text,
    CONSTRAINT version CHECK ((version >= 1))
);


--
-- Name: job_log; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.job_log (
    job_id integer NOT NULL,
    number integer NOT NULL,
    at text NOT NULL,
    kind text NOT NULL,
    figures text NOT NULL,
    words text NOT NULL
);


--
-- Name: job_pictures; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.job_pictures (
    job_id integer NOT NULL,
    hash text NOT NULL
);


--
-- Name: job_words; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.job_words (
    id integer NOT NULL,
    words text NOT NULL
);


--
-- Name: jobs; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.jobs (
    id integer NOT NULL,
    version integer NOT NULL,
    state text NOT NULL,
    is_open integer NOT NULL,
    customer_id integer,
    title text NOT NULL,
    waiting text NOT NULL,
    due text NOT NULL,
    n_pieces integer NOT NULL,
    opened_at text NOT NULL,
    changed_at text NOT NULL,
    CONSTRAINT is_open CHECK ((is_open = ANY (ARRAY[0, 1]))),
    CONSTRAINT version CHECK ((version >= 1))
);


--
-- Name: migrations; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.migrations (
    number integer NOT NULL,
    name text NOT NULL,
    applied_at text NOT NULL
);


--
-- Name: pictures; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.pictures (
    hash text NOT NULL,
    n_bytes integer NOT NULL,
    arrived_at text NOT NULL
);


--
-- Name: purchases; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.purchases (
    number integer NOT NULL,
    item_id integer NOT NULL,
    bought integer NOT NULL,
    received integer NOT NULL,
    at text NOT NULL,
    arrives text NOT NULL
);


--
-- Name: stock_items; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.stock_items (
    id integer NOT NULL,
    version integer NOT NULL,
    kind text NOT NULL,
    name text NOT NULL,
    color text NOT NULL,
    size text NOT NULL,
    label text NOT NULL,
    supplier text NOT NULL,
    pack integer NOT NULL,
    each text NOT NULL,
    metres_each integer NOT NULL,
    cloth text NOT NULL,
    barcode text NOT NULL,
    CONSTRAINT version CHECK ((version >= 1))
);


--
-- Name: stock_log; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.stock_log (
    number integer NOT NULL,
    at text NOT NULL,
    item_id integer NOT NULL,
    place text NOT NULL,
    change integer NOT NULL,
    after integer NOT NULL,
    cause text NOT NULL,
    reason text NOT NULL,
    job_id integer
);


--
-- Name: stock_lots; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.stock_lots (
    item_id integer NOT NULL,
    place text NOT NULL,
    count integer NOT NULL
);


--
-- Name: substitutes; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.substitutes (
    job_id integer NOT NULL,
    line integer NOT NULL,
    item_id integer NOT NULL,
    asked_at text NOT NULL,
    answer text NOT NULL,
    answered_at text
);


--
-- Name: suppliers; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.suppliers (
    name text NOT NULL,
    lead_days integer NOT NULL,
    order_cost text NOT NULL,
    notes text NOT NULL
);


--
-- Name: ticket_log; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.ticket_log (
    number integer NOT NULL,
    at text NOT NULL,
    job_id integer NOT NULL,
    line integer NOT NULL,
    piece integer NOT NULL,
    step text NOT NULL,
    plan_id text NOT NULL,
    figures text NOT NULL
);


--
-- Data for Name: counters; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.counters VALUES ('purchase', 0);
INSERT INTO public.counters VALUES ('customer', 1);
INSERT INTO public.counters VALUES ('job', 3);
INSERT INTO public.counters VALUES ('stock item', 1);
INSERT INTO public.counters VALUES ('stock log', 2);
INSERT INTO public.counters VALUES ('ticket log', 3);


--
-- Data for Name: customer_words; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.customer_words VALUES (1, 'at gate late letters pays row the windfall');


--
-- Data for Name: customers; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.customers VALUES (1, 1, 'Windfall Row', 'windfall row', 'letters at the gate', 'pays late', '["photos"]', '2031-04-05T12:00:00.000000+00:00', NULL);


--
-- Data for Name: job_log; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.job_log VALUES (1, 1, '2031-04-05T12:00:00.000000+00:00', 'opened', '{"customer":1,"due":null}', '{"message":"","title":"Harvest aprons"}');
INSERT INTO public.job_log VALUES (1, 2, '2031-04-05T12:00:00.000000+00:00', 'line set', '{"color":"","colorway":"","count":5,"garment":"apron-natural","number":1,"placement":"","size":"M"}', '{"names":["Quentin"]}');
INSERT INTO public.job_log VALUES (1, 3, '2031-04-05T12:00:00.000000+00:00', 'picture received', '{"hash":"0000000000000000000000000000000000000000000000000000000000000000","n_bytes":1234}', '{"name":"emblem.jpg"}');
INSERT INTO public.job_log VALUES (1, 4, '2031-04-05T12:00:00.000000+00:00', 'design revised', '{"blocks_sewing":false,"each":{"amount":"9.50","currency":"GBP"},"garment":"apron-natural","height_mm":90.0,"merged":[],"minutes":12.5,"n_stitches":8000,"number":1,"options":{"bare_colors":[[255,255,255]],"keep_background":false,"n_colors":null,"smallest_mm":0.5,"smooth_mm":0.15},"picture":"0000000000000000000000000000000000000000000000000000000000000000","plan_id":"12ab34cd","quantity":5,"specs":{"2":{"angle_rad":null,"column_spacing_mm":null,"order":null,"pull_mm":null,"row_spacing_mm":0.4,"stitch_length_mm":null,"stitch_type":"fill","underlay":["lattice"]}},"thread":"poly-40","threads":["moss","poppy"],"width_mm":60.0}', '{"reason":"first draft"}');
INSERT INTO public.job_log VALUES (1, 5, '2031-04-05T12:00:00.000000+00:00', 'colourway set', '{"name":"dusk","threads":["rust","straw"]}', '{}');
INSERT INTO public.job_log VALUES (1, 6, '2031-04-05T12:00:00.000000+00:00', 'note', '{}', '{"text":"rang on Tuesday"}');
INSERT INTO public.job_log VALUES (1, 7, '2031-04-05T12:00:00.000000+00:00', 'price offered', '{"net":{"amount":"47.50","currency":"GBP"},"quantity":5,"revision":1,"total":{"amount":"47.50","currency":"GBP"},"valid_until":null}', '{}');
INSERT INTO public.job_log VALUES (1, 8, '2031-04-05T12:00:00.000000+00:00', 'agreed', '{"colorways":[{"name":"dusk","threads":["rust","straw"]}],"height_mm":90.0,"lines":[{"color":"","colorway":"","count":5,"garment":"apron-natural","number":1,"placement":"","size":"M"}],"plan_id":"12ab34cd","price":{"amount":"47.50","currency":"GBP"},"revision":1,"threads":["moss","poppy"]}', '{"names":{"1":["Quentin"]},"said_by":"Ida, by letter"}');
INSERT INTO public.job_log VALUES (2, 1, '2031-04-05T12:00:00.000000+00:00', 'reordered', '{"customer":1,"due":null,"reorder_of":1}', '{"title":"Harvest aprons"}');
INSERT INTO public.job_log VALUES (2, 2, '2031-04-05T12:00:00.000000+00:00', 'picture received', '{"hash":"0000000000000000000000000000000000000000000000000000000000000000","n_bytes":1234}', '{"name":"emblem.jpg"}');
INSERT INTO public.job_log VALUES (2, 3, '2031-04-05T12:00:00.000000+00:00', 'design revised', '{"blocks_sewing":false,"each":{"amount":"9.50","currency":"GBP"},"garment":"apron-natural","height_mm":90.0,"merged":[],"minutes":12.5,"n_stitches":8000,"number":1,"options":{"bare_colors":[[255,255,255]],"keep_background":false,"n_colors":null,"smallest_mm":0.5,"smooth_mm":0.15},"picture":"0000000000000000000000000000000000000000000000000000000000000000","plan_id":"12ab34cd","quantity":5,"specs":{"2":{"angle_rad":null,"column_spacing_mm":null,"order":null,"pull_mm":null,"row_spacing_mm":0.4,"stitch_length_mm":null,"stitch_type":"fill","underlay":["lattice"]}},"thread":"poly-40","threads":["moss","poppy"],"width_mm":60.0}', '{"reason":"as sewn for job 1"}');
INSERT INTO public.job_log VALUES (2, 4, '2031-04-05T12:00:00.000000+00:00', 'colourway set', '{"name":"dusk","threads":["rust","straw"]}', '{}');
INSERT INTO public.job_log VALUES (2, 5, '2031-04-05T12:00:00.000000+00:00', 'line set', '{"color":"","colorway":"","count":5,"garment":"apron-natural","number":1,"placement":"","size":"M"}', '{}');
INSERT INTO public.job_log VALUES (3, 1, '2031-04-05T12:00:00.000000+00:00', 'opened', '{"customer":0,"due":null}', '{"message":"","title":"Never sewn"}');
INSERT INTO public.job_log VALUES (3, 2, '2031-04-05T12:00:00.000000+00:00', 'dropped', '{}', '{"reason":"moved away"}');


--
-- Data for Name: job_pictures; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.job_pictures VALUES (1, '0000000000000000000000000000000000000000000000000000000000000000');
INSERT INTO public.job_pictures VALUES (2, '0000000000000000000000000000000000000000000000000000000000000000');


--
-- Data for Name: job_words; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.job_words VALUES (1, '1 12ab34cd agreed apron aprons by draft dusk emblem first harvest ida jpg letter m moss natural on poppy quentin rang row tuesday windfall');
INSERT INTO public.job_words VALUES (2, '1 12ab34cd 2 apron aprons as drafted dusk emblem for harvest job jpg m moss natural poppy row sewn windfall');
INSERT INTO public.job_words VALUES (3, '3 away dropped moved never sewn');


--
-- Data for Name: jobs; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.jobs VALUES (1, 8, 'agreed', 1, 1, 'Harvest aprons', 'blanks', '9999-12-31', 5, '2031-04-05T12:00:00.000000+00:00', '2031-04-05T12:00:00.000000+00:00');
INSERT INTO public.jobs VALUES (2, 5, 'drafted', 1, 1, 'Harvest aprons', 'price', '9999-12-31', 5, '2031-04-05T12:00:00.000000+00:00', '2031-04-05T12:00:00.000000+00:00');
INSERT INTO public.jobs VALUES (3, 2, 'dropped', 0, NULL, 'Never sewn', 'nothing', '9999-12-31', 0, '2031-04-05T12:00:00.000000+00:00', '2031-04-05T12:00:00.000000+00:00');


--
-- Data for Name: migrations; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.migrations VALUES (1, 'customers and jobs', '2031-04-05T12:00:00.000000+00:00');
INSERT INTO public.migrations VALUES (2, 'stock and tickets', '2031-04-05T12:00:00.000000+00:00');


--
-- Data for Name: pictures; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.pictures VALUES ('0000000000000000000000000000000000000000000000000000000000000000', 1234, '2031-04-05T12:00:00.000000+00:00');


--
-- Data for Name: purchases; Type: TABLE DATA; Schema: public; Owner: -
--



--
-- Data for Name: stock_items; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.stock_items VALUES (1, 1, 'blank', 'apron-natural', 'natural', 'M', 'apron-natural, natural, M', 'the mill', 6, 'null', 0, 'null', '');


--
-- Data for Name: stock_log; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.stock_log VALUES (1, '2031-04-05T12:00:00.000000+00:00', 1, 'A1', 12, 12, 'received', '', NULL);
INSERT INTO public.stock_log VALUES (2, '2031-04-05T12:00:00.000000+00:00', 1, 'A1', -5, 7, 'taken', '', 1);


--
-- Data for Name: stock_lots; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.stock_lots VALUES (1, 'A1', 7);


--
-- Data for Name: substitutes; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.substitutes VALUES (1, 1, 1, '2031-04-05T12:00:00.000000+00:00', 'asked', NULL);


--
-- Data for Name: suppliers; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.suppliers VALUES ('the mill', 5, 'null', 'Mondays only');


--
-- Data for Name: ticket_log; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.ticket_log VALUES (1, '2031-04-05T12:00:00.000000+00:00', 1, 1, 1, 'ticket printed', '12ab34cd', '{}');
INSERT INTO public.ticket_log VALUES (2, '2031-04-05T12:00:00.000000+00:00', 1, 1, 1, 'started', '12ab34cd', '{}');
INSERT INTO public.ticket_log VALUES (3, '2031-04-05T12:00:00.000000+00:00', 1, 1, 1, 'sewn', '12ab34cd', '{}');


--
-- Name: counters counters_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.counters
    ADD CONSTRAINT counters_pkey PRIMARY KEY (name);


--
-- Name: customer_words customer_words_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.customer_words
    ADD CONSTRAINT customer_words_pkey PRIMARY KEY (id);


--
-- Name: customers customers_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.customers
    ADD CONSTRAINT customers_pkey PRIMARY KEY (id);


--
-- Name: job_log job_log_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.job_log
    ADD CONSTRAINT job_log_pkey PRIMARY KEY (job_id, number);


--
-- Name: job_pictures job_pictures_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.job_pictures
    ADD CONSTRAINT job_pictures_pkey PRIMARY KEY (job_id, hash);


--
-- Name: job_words job_words_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.job_words
    ADD CONSTRAINT job_words_pkey PRIMARY KEY (id);


--
-- Name: jobs jobs_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.jobs
    ADD CONSTRAINT jobs_pkey PRIMARY KEY (id);


--
-- Name: pictures pictures_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.pictures
    ADD CONSTRAINT pictures_pkey PRIMARY KEY (hash);


--
-- Name: migrations pk_migrations; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.migrations
    ADD CONSTRAINT pk_migrations PRIMARY KEY (number);


--
-- Name: purchases purchases_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.purchases
    ADD CONSTRAINT purchases_pkey PRIMARY KEY (number);


--
-- Name: stock_items stock_items_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.stock_items
    ADD CONSTRAINT stock_items_pkey PRIMARY KEY (id);


--
-- Name: stock_log stock_log_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.stock_log
    ADD CONSTRAINT stock_log_pkey PRIMARY KEY (number);


--
-- Name: stock_lots stock_lots_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.stock_lots
    ADD CONSTRAINT stock_lots_pkey PRIMARY KEY (item_id, place);


--
-- Name: substitutes substitutes_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.substitutes
    ADD CONSTRAINT substitutes_pkey PRIMARY KEY (job_id, line, item_id);


--
-- Name: suppliers suppliers_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.suppliers
    ADD CONSTRAINT suppliers_pkey PRIMARY KEY (name);


--
-- Name: ticket_log ticket_log_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.ticket_log
    ADD CONSTRAINT ticket_log_pkey PRIMARY KEY (number);


--
-- Name: customer_words_index; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX customer_words_index ON public.customer_words USING gin (public.word_vector(words));


--
-- Name: ix_customers_name_key_id; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_customers_name_key_id ON public.customers USING btree (name_key, id);


--
-- Name: ix_job_pictures_hash; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_job_pictures_hash ON public.job_pictures USING btree (hash);


--
-- Name: ix_jobs_customer_id_id; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_jobs_customer_id_id ON public.jobs USING btree (customer_id, id);


--
-- Name: ix_jobs_due_id; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_jobs_due_id ON public.jobs USING btree (due, id);


--
-- Name: ix_jobs_is_open_due_id; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_jobs_is_open_due_id ON public.jobs USING btree (is_open, due, id);


--
-- Name: ix_jobs_state_due_id; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_jobs_state_due_id ON public.jobs USING btree (state, due, id);


--
-- Name: ix_purchases_item_id_number; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_purchases_item_id_number ON public.purchases USING btree (item_id, number);


--
-- Name: ix_stock_items_barcode; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_stock_items_barcode ON public.stock_items USING btree (barcode);


--
-- Name: ix_stock_items_kind_name_color_size; Type: INDEX; Schema: public; Owner: -
--

CREATE UNIQUE INDEX ix_stock_items_kind_name_color_size ON public.stock_items USING btree (kind, name, color, size);


--
-- Name: ix_stock_log_item_id_number; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_stock_log_item_id_number ON public.stock_log USING btree (item_id, number);


--
-- Name: ix_stock_log_job_id_item_id; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_stock_log_job_id_item_id ON public.stock_log USING btree (job_id, item_id);


--
-- Name: ix_ticket_log_job_id_line_number; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX ix_ticket_log_job_id_line_number ON public.ticket_log USING btree (job_id, line, number);


--
-- Name: job_words_index; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX job_words_index ON public.job_words USING gin (public.word_vector(words));


--
-- Name: job_log job_log_fixed; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER job_log_fixed BEFORE UPDATE ON public.job_log FOR EACH ROW WHEN (((new.job_id <> old.job_id) OR (new.number <> old.number) OR (new.at <> old.at) OR (new.kind <> old.kind) OR (new.figures <> old.figures) OR (new.words <> '{}'::text))) EXECUTE FUNCTION public.refuse_log_change();


--
-- Name: job_log job_log_kept; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER job_log_kept BEFORE DELETE ON public.job_log FOR EACH ROW EXECUTE FUNCTION public.refuse_log_change();


--
-- Name: stock_log stock_log_fixed; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER stock_log_fixed BEFORE UPDATE ON public.stock_log FOR EACH ROW EXECUTE FUNCTION public.refuse_log_change();


--
-- Name: stock_log stock_log_kept; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER stock_log_kept BEFORE DELETE ON public.stock_log FOR EACH ROW EXECUTE FUNCTION public.refuse_log_change();


--
-- Name: ticket_log ticket_log_fixed; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER ticket_log_fixed BEFORE UPDATE ON public.ticket_log FOR EACH ROW EXECUTE FUNCTION public.refuse_log_change();


--
-- Name: ticket_log ticket_log_kept; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER ticket_log_kept BEFORE DELETE ON public.ticket_log FOR EACH ROW EXECUTE FUNCTION public.refuse_log_change();


--
-- Name: customer_words customer_words_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.customer_words
    ADD CONSTRAINT customer_words_id_fkey FOREIGN KEY (id) REFERENCES public.customers(id);


--
-- Name: job_log job_log_job_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.job_log
    ADD CONSTRAINT job_log_job_id_fkey FOREIGN KEY (job_id) REFERENCES public.jobs(id);


--
-- Name: job_pictures job_pictures_hash_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.job_pictures
    ADD CONSTRAINT job_pictures_hash_fkey FOREIGN KEY (hash) REFERENCES public.pictures(hash);


--
-- Name: job_pictures job_pictures_job_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.job_pictures
    ADD CONSTRAINT job_pictures_job_id_fkey FOREIGN KEY (job_id) REFERENCES public.jobs(id);


--
-- Name: job_words job_words_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.job_words
    ADD CONSTRAINT job_words_id_fkey FOREIGN KEY (id) REFERENCES public.jobs(id);


--
-- Name: jobs jobs_customer_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.jobs
    ADD CONSTRAINT jobs_customer_id_fkey FOREIGN KEY (customer_id) REFERENCES public.customers(id);


--
-- Name: purchases purchases_item_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.purchases
    ADD CONSTRAINT purchases_item_id_fkey FOREIGN KEY (item_id) REFERENCES public.stock_items(id);


--
-- Name: stock_log stock_log_item_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.stock_log
    ADD CONSTRAINT stock_log_item_id_fkey FOREIGN KEY (item_id) REFERENCES public.stock_items(id);


--
-- Name: stock_log stock_log_job_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.stock_log
    ADD CONSTRAINT stock_log_job_id_fkey FOREIGN KEY (job_id) REFERENCES public.jobs(id);


--
-- Name: stock_lots stock_lots_item_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.stock_lots
    ADD CONSTRAINT stock_lots_item_id_fkey FOREIGN KEY (item_id) REFERENCES public.stock_items(id);


--
-- Name: substitutes substitutes_item_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.substitutes
    ADD CONSTRAINT substitutes_item_id_fkey FOREIGN KEY (item_id) REFERENCES public.stock_items(id);


--
-- Name: substitutes substitutes_job_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.substitutes
    ADD CONSTRAINT substitutes_job_id_fkey FOREIGN KEY (job_id) REFERENCES public.jobs(id);


--
-- Name: ticket_log ticket_log_job_id_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.ticket_log
    ADD CONSTRAINT ticket_log_job_id_fkey FOREIGN KEY (job_id) REFERENCES public.jobs(id);


--
-- PostgreSQL database dump complete
--


